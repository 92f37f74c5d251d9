package pipeline

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"runtime"
	"slices"
	"sync"

	"turnwise/assembly"
	"turnwise/assembly/solidify"
	"turnwise/geom/isosurface"
	"turnwise/geom/mesh"
	"turnwise/geom/mesh/stl"
	"turnwise/geom/sdf"
	"turnwise/render/picture"
	"turnwise/render/sheets"
)

// ToleranceMM is how far a mesh may lie from its solid: well under what a print or a picture shows.
const ToleranceMM = 0.02

// work holds what later stages share: each distinct solid is made once, and meshed once. Stages that do not need one
// another run side by side, each on a branch of its own.
type work struct {
	told   *teller
	solids *solids

	plan   *assembly.Plan
	solved *assembly.Assembly
	meshes map[string]*mesh.Mesh // by file name
	// threaded are the meshes with threads cut, of the solids that have any; nil unless asked for.
	threaded map[string]*mesh.Mesh
	remarks  []string                   // what is worth telling of the files made
	drawn    map[string]*sheets.Drawing // by name of the picture
	scores   []picture.Scores           // of the pictures drawn
	modules  []picture.Module           // of a big frame, in the order of their pictures
}

func newWork(progress func(Progress)) *work {
	return &work{
		told: &teller{progress: progress, of: stages}, solids: &solids{made: map[string]sdf.Solid{}},
		meshes: map[string]*mesh.Mesh{}, drawn: map[string]*sheets.Drawing{},
	}
}

// branch is the work as it stands, for a stage that runs beside others. What is made on it is its own.
func (w *work) branch() *work {
	b := *w
	b.meshes, b.drawn, b.remarks = maps.Clone(w.meshes), maps.Clone(w.drawn), nil
	return &b
}

// sideBySide runs stages at the same time, each on a branch, and returns their files in the order of the stages: also
// their remarks are kept in that order, and the error returned is that of the first one at fault.
func (w *work) sideBySide(stages ...func(*work) ([]File, error)) ([]File, error) {
	branches, files, errs := make([]*work, len(stages)), make([][]File, len(stages)), make([]error, len(stages))
	var wg sync.WaitGroup
	for i, make1 := range stages {
		branches[i] = w.branch()
		wg.Go(func() { files[i], errs[i] = make1(branches[i]) })
	}
	wg.Wait()
	for i, b := range branches {
		if errs[i] != nil {
			return nil, errs[i]
		}
		w.remarks = append(w.remarks, b.remarks...)
		if b.scores != nil {
			w.scores = b.scores
		}
	}
	return slices.Concat(files...), nil
}

// inTurn runs stages one after the other and returns all their files.
func inTurn(stages ...func() ([]File, error)) ([]File, error) {
	var out []File
	for _, make1 := range stages {
		files, err := make1()
		if err != nil {
			return nil, err
		}
		out = append(out, files...)
	}
	return out, nil
}

// teller tells how far the work has come, one thing at a time, whichever stages run side by side.
type teller struct {
	mu       sync.Mutex
	progress func(Progress)
	done, of int
}

// more adds steps to those that the whole takes.
func (t *teller) more(n int) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.of += n
}

// say tells that a stage begins or a step of it is done, which brings the whole n steps on.
func (t *teller) say(stage string, n int) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.done = min(t.done+n, t.of)
	if t.progress != nil {
		t.progress(Progress{stage, t.done, t.of})
	}
}

// say tells of a stage that is one step.
func (w *work) say(stage string) { w.told.say(stage, 1) }

// solids are those made so far, by key of their part. Several stages may ask at the same time.
type solids struct {
	mu   sync.Mutex
	made map[string]sdf.Solid
}

// solid gives a part's solid in its part frame. Equal parts share one.
func (w *work) solid(p assembly.Part) (sdf.Solid, error) {
	key := solidify.Key(p)
	w.solids.mu.Lock()
	defer w.solids.mu.Unlock()
	if s, ok := w.solids.made[key]; ok {
		return s, nil
	}
	s, err := solidify.Solid(p)
	if err != nil {
		return nil, err
	}
	w.solids.made[key] = s
	return s, nil
}

// files lists the distinct solids in the order of their first parts.
func (w *work) files() []assembly.Part {
	seen := map[string]bool{}
	var out []assembly.Part
	for _, p := range w.plan.Parts {
		if p.Solid != "" && !seen[p.Solid] {
			seen[p.Solid] = true
			out = append(out, p)
		}
	}
	return out
}

// meshAll meshes every distinct solid once. What comes out does not depend on the number of processors.
func (w *work) meshAll() error {
	files := w.files()
	w.told.more(len(files))
	meshes, err := w.meshMany(files, "meshing ", w.solid)
	for i, p := range files {
		w.meshes[p.Solid] = meshes[i]
	}
	return err
}

// cutThreads meshes every distinct solid that has threads a second time, with the threads cut.
func (w *work) cutThreads() error {
	var files []assembly.Part
	for _, p := range w.files() {
		if p.Family != "" {
			files = append(files, p)
		}
	}
	w.told.more(len(files))
	meshes, err := w.meshMany(files, "cutting threads of ", solidify.Threaded)
	w.threaded = map[string]*mesh.Mesh{}
	for i, p := range files {
		w.threaded[p.Solid] = meshes[i]
	}
	return err
}

// meshMany meshes the solids of parts, as many at a time as there are processors.
func (w *work) meshMany(files []assembly.Part, stage string, solid func(assembly.Part) (sdf.Solid, error)) ([]*mesh.Mesh, error) {
	meshes := make([]*mesh.Mesh, len(files))
	reports := make([]isosurface.Report, len(files))
	errs := make([]error, len(files))
	var wg sync.WaitGroup
	next := make(chan int)
	for range min(runtime.GOMAXPROCS(0), max(1, len(files))) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range next {
				meshes[i], reports[i], errs[i] = meshOne(files[i], solid)
				w.say(stage + files[i].Solid)
			}
		}()
	}
	for i := range files {
		next <- i
	}
	close(next)
	wg.Wait()
	for i, p := range files {
		if errs[i] != nil {
			return meshes, errs[i]
		}
		switch r := reports[i]; {
		case r.ThreadsLeftOut:
			w.remarks = append(w.remarks, fmt.Sprintf("%s has plain cones: its threads could not be cut", p.Solid))
		case r.MaxErrorMM > ToleranceMM || r.Method == isosurface.Tetrahedra:
			w.remarks = append(w.remarks, fmt.Sprintf("%s lies up to %.2f mm off its true surface in places, more than the %.2f mm meant", p.Solid, r.MaxErrorMM, ToleranceMM))
		}
	}
	return meshes, nil
}

func meshOne(p assembly.Part, solid func(assembly.Part) (sdf.Solid, error)) (*mesh.Mesh, isosurface.Report, error) {
	s, err := solid(p)
	if err != nil {
		return nil, isosurface.Report{}, fmt.Errorf("the solid of %s: %w", p.ID, err)
	}
	m, r, err := isosurface.Mesh(s, isosurface.Options{ToleranceMM: ToleranceMM})
	if err != nil {
		return nil, r, fmt.Errorf("the mesh of %s: %w", p.ID, err)
	}
	return m, r, nil
}

func (w *work) solidFiles() ([]File, error) {
	var out []File
	for _, p := range w.files() {
		var b bytes.Buffer
		m := w.fileMesh(p)
		if err := stl.Write(&b, m); err != nil {
			return nil, fmt.Errorf("writing %s: %w", p.Solid, err)
		}
		out = append(out, File{p.Solid, SolidsGroup, b.Bytes()})
	}
	return out, nil
}

// pictureFiles draws the frame whole and apart, the groups of a big one apart, and every step.
func (w *work) pictureFiles() ([]File, error) {
	meshes := func(p assembly.Part) *mesh.Mesh { return w.meshes[p.Solid] }
	var out []File
	add := func(name string, p *picture.Picture, err error) error {
		if err != nil {
			return fmt.Errorf("drawing %s: %w", name, err)
		}
		out, err = w.appendPicture(out, name, p)
		return err
	}
	w.say("drawing finished")
	p, err := picture.Finished(w.plan, meshes)
	if err := add("finished", p, err); err != nil {
		return nil, err
	}
	w.say("drawing exploded")
	p, err = picture.Exploded(w.plan, meshes)
	if err := add("exploded", p, err); err != nil {
		return nil, err
	}
	w.modules = picture.Modules(w.plan)
	for i, m := range w.modules {
		name := picture.ModuleName(i + 1)
		w.told.say("drawing "+name, 0)
		p, err := picture.ExplodedModule(w.plan, meshes, m, i+1, len(w.modules))
		if err := add(name, p, err); err != nil {
			return nil, err
		}
	}
	err = picture.StepPictures(w.plan, meshes, func(p picture.StepPicture) error {
		name := stepName(p.Number)
		w.told.say("drawing "+name, 0)
		return add(name, p.Picture, nil)
	})
	if err != nil {
		return nil, err
	}
	b, err := json.MarshalIndent(w.scores, "", " ")
	if err != nil {
		return nil, err
	}
	return append(out, File{"pictures/scores.json", PicturesGroup, append(b, '\n')}), nil
}

// appendPicture adds a picture as PNG and SVG, and keeps it for the booklet, with its scores.
func (w *work) appendPicture(files []File, name string, p *picture.Picture) ([]File, error) {
	var b bytes.Buffer
	if err := p.WritePNG(&b); err != nil {
		return nil, err
	}
	w.drawn[name] = &sheets.Drawing{Image: p.Image, PNG: b.Bytes()}
	w.scores = append(w.scores, p.Scores)
	return appendSVG(append(files, File{"pictures/" + name + ".png", PicturesGroup, b.Bytes()}), name, p)
}

// stepName names the picture of a step, without its ending.
func stepName(number int) string { return fmt.Sprintf("step-%02d", number) }

// appendSVG adds the line work of a picture as vectors.
func appendSVG(files []File, name string, p *picture.Picture) ([]File, error) {
	var b bytes.Buffer
	if err := p.Vector.WriteSVG(&b); err != nil {
		return nil, fmt.Errorf("writing %s.svg: %w", name, err)
	}
	return append(files, File{"pictures/" + name + ".svg", PicturesGroup, b.Bytes()}), nil
}
