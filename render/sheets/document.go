// Package sheets sets pages: a document of plain blocks (headings, tables, pictures with their words) laid out on a
// canvas and written as a PDF file.
//
// A Document says what stands on the pages and in which order, nothing of where; so the same one can be written as a
// web page by others. [WritePDF] breaks it into pages that print unscaled on both A4 and US letter.
//
//   - document.go: the blocks
//   - layout.go: from blocks to pieces that fit on a page, and where each comes to stand
//   - blocks.go, table.go, panel.go, cards.go, bars.go, sketch.go: how each block measures and draws itself
//   - pdf.go, stable.go: pages to a file whose bytes hang on nothing but the document
//
// Lengths are millimetres on the page, x to the right and y down.
package sheets

import "image"

// Document is what a set of pages says. Language is a tag such as "en" (BCP 47).
type Document struct {
	Title    string
	Language string
	Foot     string // at the foot of every page, before its number
	Warning  string // at the head of every page, in a warning colour; "" for none
	Sections []Section
}

// Section is a part of a document with a title of its own. ID names it for links: letters, digits and hyphens. One that
// does not begin a page is kept whole on one where it can be.
type Section struct {
	ID      string
	Title   string
	NewPage bool // begins a page
	Blocks  []Block
}

// Block is one of the kinds of blocks in this package.
type Block interface{ isBlock() }

// Text is a paragraph.
type Text struct {
	Words string
	Large bool
}

// Subhead is a heading within a section.
type Subhead struct{ Words string }

// List is a list of short paragraphs, with a box to tick before each if Tick.
type List struct {
	Items []string
	Tick  bool
}

// Notice is a list that must not be overlooked. Grave ones are drawn heavier.
type Notice struct {
	Title string
	Items []string
	Grave bool
}

// Table has a head that is repeated on every page it runs over. A row of one cell alone is the heading of those under it.
type Table struct {
	Columns []Column
	Rows    [][]string
}

// Column is one column of a table. Columns are as wide as what stands in them asks for.
type Column struct {
	Title string
	Right bool // figures, set flush right
}

// Contents lists the sections after the first, with the page on which each begins.
type Contents struct{ Title string }

// Facts is a list of things told in short and then at length.
type Facts struct{ Items []Fact }

// Fact is one of them. Head says what it comes to; Words and Note may be empty.
type Fact struct {
	Head  string
	Words string
	Note  string // where it is from, in small print
}

// Drawing is a picture with what it shows in words, for those who do not see it.
type Drawing struct {
	Image image.Image
	PNG   []byte // the same image, encoded
	Alt   string
}

// Figure is a picture across the page. Height is the share of the page's height it may take, 1 for all that is left
// by its caption.
type Figure struct {
	Drawing *Drawing
	Caption string
	Height  float64
}

// Cards is a grid of small pictures with words.
type Cards struct {
	Items []Card
	// PerMM is how large pictures are drawn, in pixels to the millimetre of the page, so that all of them have one scale;
	// a picture that would not fit its card is made smaller and Card.Shrunk is set beside it.
	PerMM float64
	// Shrunk is said under a picture that had to be made smaller.
	Shrunk string
	Across int // how many stand side by side; 0 for 3
	// Cut draws them as slips to be cut out.
	Cut bool
}

// Card is one picture of a grid. Tag is the number it has in the pictures. It has a Drawing, a Sketch, or neither.
type Card struct {
	Tag     string
	Drawing *Drawing
	Sketch  *Sketch
	Title   string
	Lines   []string
	Boxes   int // boxes to tick, one for each piece
}

// Panel is one picture of the work with the steps it shows.
type Panel struct {
	Drawing *Drawing
	Steps   []PanelStep
}

// PanelStep is one step beside its picture.
type PanelStep struct {
	Number string
	Words  string
	Facts  []string // short, such as where it is done and how many people it takes
}

// Bars draws long pieces one under another at one scale, so that like lengths can be told apart.
type Bars struct {
	Items []Bar
}

// Bar is one long piece. LengthMM is its true length.
type Bar struct {
	Tag      string
	LengthMM float64
	Title    string
	Note     string
	Boxes    int     // boxes to tick, one for each piece
	Ends     [2]bool // which ends carry a thread
}

// Sticks draws long stock and how it is cut, all at one scale.
type Sticks struct{ Items []StickBar }

// StickBar is so many equal lengths of stock cut alike.
type StickBar struct {
	Title    string
	Note     string
	LengthMM float64
	Pieces   []StickCut // from one end
	KerfMM   float64    // between them
}

// StickCut is one piece of a stick. Tag is its number in the lists.
type StickCut struct {
	Tag      string
	LengthMM float64
}

func (Text) isBlock()     {}
func (Contents) isBlock() {}
func (Facts) isBlock()    {}
func (Sticks) isBlock()   {}
func (Subhead) isBlock()  {}
func (List) isBlock()     {}
func (Notice) isBlock()   {}
func (Table) isBlock()    {}
func (Figure) isBlock()   {}
func (Cards) isBlock()    {}
func (Panel) isBlock()    {}
func (Bars) isBlock()     {}
