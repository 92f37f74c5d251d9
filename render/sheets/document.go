// Package sheets sets pages: a document of plain blocks (headings, tables, pictures with their words) laid out on a
// canvas and written as a PDF file.
//
// A Document says what stands on the pages and in which order, nothing of where; so the same one can be written as a
// web page by others. [WritePDF] breaks it into pages that print unscaled on both A4 and US letter.
//
//   - document.go: the blocks
//   - layout.go: from blocks to pieces that fit on a page, and where each comes to stand
//   - blocks.go, bars.go: how each block measures and draws itself
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

// Section is a part of a document with a title of its own. ID names it for links: letters, digits and hyphens.
type Section struct {
	ID      string
	Title   string
	NewPage bool
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

// Table has a head that is repeated on every page it runs over.
type Table struct {
	Columns []Column
	Rows    [][]string
}

// Column is one column of a table. Weight is its share of the width.
type Column struct {
	Title  string
	Weight float64
	Right  bool // figures, set flush right
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
}

// Card is one picture of a grid. Tag is the number it has in the pictures.
type Card struct {
	Tag     string
	Drawing *Drawing
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

func (Text) isBlock()    {}
func (Subhead) isBlock() {}
func (List) isBlock()    {}
func (Notice) isBlock()  {}
func (Table) isBlock()   {}
func (Figure) isBlock()  {}
func (Cards) isBlock()   {}
func (Panel) isBlock()   {}
func (Bars) isBlock()    {}
