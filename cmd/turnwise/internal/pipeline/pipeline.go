// Package pipeline takes one design through every stage once: read, solve, outline, sequence, count, describe, write
// the plan, prove it, mesh, draw, list. Each stage is handed the last one's result and returns its own; this file
// reads top to bottom in that order.
package pipeline

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"slices"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/bom"
	"turnwise/assembly/design"
	"turnwise/assembly/mend"
	"turnwise/assembly/mockup"
	"turnwise/assembly/planfile"
	"turnwise/assembly/units"
	"turnwise/render/picture"
)

// Version of the program. Files of another version in an output folder are made anew.
const Version = "0.1.0"

// DesignFault is the code of findings that stand for faults of the design file itself.
const DesignFault = "DESIGN"

// Groups of files that a build can be asked for. The plan is always written.
const (
	PlanGroup     = "plan"
	PicturesGroup = "pictures"
	ListsGroup    = "lists"
	SolidsGroup   = "solids"
	BookletGroup  = "booklet"
	MockupGroup   = "mockup"
)

// GroupNames lists the groups that --only takes.
var GroupNames = []string{PicturesGroup, BookletGroup, ListsGroup, SolidsGroup, MockupGroup}

// Groups is a set of groups; nil means all of them.
type Groups map[string]bool

// ParseGroups reads the words of --only.
func ParseGroups(words []string) (Groups, error) {
	if len(words) == 0 {
		return nil, nil
	}
	g := Groups{}
	for _, w := range words {
		w = strings.TrimSpace(w)
		if !slices.Contains(GroupNames, w) {
			return nil, fmt.Errorf("no group of files called %q: %s", w, strings.Join(GroupNames, ", "))
		}
		g[w] = true
	}
	return g, nil
}

func (g Groups) has(name string) bool { return g == nil || g[name] }

// made lists the groups that a build with g makes whole.
func (g Groups) made() []string {
	out := []string{PlanGroup}
	for _, n := range GroupNames {
		if g.has(n) {
			out = append(out, n)
		}
	}
	return out
}

// Progress is how far the work has come. It is told from one goroutine at a time.
type Progress struct {
	Stage    string
	Done, Of int
}

// Request asks for one design to be worked out.
type Request struct {
	Name     string    // base name of the design file, for messages
	Design   io.Reader // its text
	Groups   Groups
	Progress func(Progress)
	// Threads gives the files of solids helical threads. The plan, its proof and the pictures keep the plain ones.
	Threads bool
	// Scale is the size of the frame in one piece; the zero Scale is true size. All other files are true size.
	Scale Scale
	// Model says how the scale model is made; its zero value is the usual one.
	Model mockup.Options

	trial *work // of the design that a repair is being tried for: the repair's own repairs are not
}

// File is one file of the results.
type File struct {
	Path  string // under the output folder, with slashes
	Group string
	Data  []byte
}

// Result is what came of a design.
type Result struct {
	// Readable tells that the design's parts are known: without it the plan holds findings only and there are no
	// files.
	Readable bool
	Plan     assembly.Plan
	PlanJSON []byte
	Files    []File
	Groups   []string         // the groups that Files makes whole
	Digest   string           // of the design's text
	Mending  mend.Report      // what was tried to mend it
	Remarks  []string         // what is worth telling of the files, a sentence each
	Scores   []picture.Scores // of the pictures, when they were drawn
}

// Check works a design out as far as the proven plan.
func Check(q Request) (*Result, error) {
	r, _, err := plan(q)
	return r, err
}

// CheckPictures works a design out as far as the proven plan, and draws and measures its pictures.
func CheckPictures(q Request) (*Result, error) {
	r, w, err := plan(q)
	if err != nil || !r.Readable {
		return r, err
	}
	if err := w.meshAll(); err != nil {
		return nil, err
	}
	if _, err := w.pictureFiles(); err != nil {
		return nil, err
	}
	r.Scores = w.scores
	return r, nil
}

// Build works a design out and makes the files of the groups asked for.
func Build(q Request) (*Result, error) {
	r, w, err := plan(q)
	if err != nil || !r.Readable {
		return r, err
	}
	r.Groups = q.Groups.made()
	r.Files = append(r.Files, File{"plan.json", PlanGroup, r.PlanJSON})
	if q.Groups.has(ListsGroup) {
		files, err := lists(r.Plan, bom.Sticks(w.solved))
		if err != nil {
			return nil, err
		}
		r.Files = append(r.Files, files...)
	}
	files, err := w.sideBySide(
		func(w *work) ([]File, error) { return w.bodies(q) },
		func(w *work) ([]File, error) {
			return w.only(q.Groups, MockupGroup, func() ([]File, error) { return w.modelFiles(q.Model) })
		},
	)
	if err != nil {
		return nil, err
	}
	r.Files, r.Scores = append(r.Files, files...), w.scores
	r.Remarks = w.remarks
	return r, nil
}

// only makes files if their group is among those asked for.
func (w *work) only(g Groups, name string, files func() ([]File, error)) ([]File, error) {
	if !g.has(name) {
		return nil, nil
	}
	return files()
}

// bodies makes what is made from the meshes of the parts: the solids, and beside them the pictures and what they go into.
func (w *work) bodies(q Request) ([]File, error) {
	if !q.Groups.has(SolidsGroup) && !q.Groups.has(PicturesGroup) && !q.Groups.has(BookletGroup) {
		return nil, nil
	}
	if err := w.meshAll(); err != nil {
		return nil, err
	}
	return w.sideBySide(
		func(w *work) ([]File, error) {
			return w.only(q.Groups, SolidsGroup, func() ([]File, error) { return w.solidGroup(q) })
		},
		func(w *work) ([]File, error) { return w.drawings(q.Groups) },
	)
}

// solidGroup makes the files of solids.
func (w *work) solidGroup(q Request) ([]File, error) {
	if q.Threads {
		if err := w.cutThreads(); err != nil {
			return nil, err
		}
	}
	return inTurn(w.solidFiles, w.partsPackage, w.frameModel, func() ([]File, error) { return w.frameSolid(q.Scale.orTrue()) })
}

// drawings makes the pictures and the booklet, which shows them.
func (w *work) drawings(g Groups) ([]File, error) {
	if !g.has(PicturesGroup) && !g.has(BookletGroup) {
		return nil, nil
	}
	out, err := w.pictureFiles()
	if err != nil {
		return nil, err
	}
	if !g.has(PicturesGroup) {
		out = nil
	}
	files, err := w.only(g, BookletGroup, w.bookletFiles)
	return append(out, files...), err
}

// maxDigested bounds how much of a hostile file is kept for the digest; the reader refuses far earlier.
const maxDigested = design.MaxBytes + 1

func readAll(r io.Reader) ([]byte, string, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxDigested))
	if err != nil {
		return nil, "", err
	}
	sum := sha256.Sum256(text)
	return text, hex.EncodeToString(sum[:]), nil
}

func lists(p assembly.Plan, sticks []assembly.Stick) ([]File, error) {
	u := units.System(p.Design.Units)
	var cuts, shopping, cutting bytes.Buffer
	if err := planfile.WriteCuts(&cuts, u, p.Cuts); err != nil {
		return nil, err
	}
	if err := planfile.WriteShopping(&shopping, u, p.Shopping); err != nil {
		return nil, err
	}
	files := []File{{"lists/cuts.csv", ListsGroup, cuts.Bytes()}, {"lists/shopping.csv", ListsGroup, shopping.Bytes()}}
	if len(sticks) > 0 {
		if err := planfile.WriteSticks(&cutting, u, sticks); err != nil {
			return nil, err
		}
		files = append(files, File{"lists/sticks.csv", ListsGroup, cutting.Bytes()})
	}
	if stop := Refusal(p); stop != "" {
		files = append(files, File{"lists/not-buildable.txt", ListsGroup, []byte(stop + remedy(p))})
	}
	return files, nil
}

// Refusal says in words that the frame cannot be built as drawn, with the reasons, a line each; "" when it can.
func Refusal(p assembly.Plan) string {
	var b strings.Builder
	for _, f := range p.Findings {
		if f.Severity == assembly.Stop {
			fmt.Fprintf(&b, "- %s [%s]\n", f.Text, f.Code)
		}
	}
	if b.Len() == 0 {
		return ""
	}
	return "This frame cannot be built as drawn. Do not cut or buy from these lists yet:\n" + b.String()
}

// remedy says what to type to mend a refused design: the first change that was worked out again and leaves nothing in
// the way; "" when there is none.
func remedy(p assembly.Plan) string {
	for _, c := range mend.Choices(&p) {
		if !c.Repair.Verified || c.Repair.Leaves > 0 {
			continue
		}
		var b strings.Builder
		fmt.Fprintf(&b, "\nThis change of the design mends it; it was worked out again and proven (others: turnwise mend):\n%s\n", c.Repair.Text)
		for _, e := range c.Repair.Edits {
			if e.Old == "" {
				fmt.Fprintf(&b, "before line %d, new |%s\n", e.Line, e.New)
				continue
			}
			fmt.Fprintf(&b, "line %d is |%s\n%*s|%s\n", e.Line, e.Old, len(fmt.Sprintf("line %d is ", e.Line)), "make it ", e.New)
		}
		return b.String()
	}
	return ""
}
