package picture

import (
	"fmt"
	"math"

	"turnwise/assembly"
	"turnwise/assembly/units"
	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/render"
	"turnwise/render/lettering"
)

// sideGap is the space between views of a part, as a fraction of its longest side.
const sideGap = 0.18

// belowMM is how far under a view its name stands.
const belowMM = 3.5

// slantCamera is the direction of the slanted view: from the front, the right and above.
var slantCamera = render.LookFrom(-50*math.Pi/180, 30*math.Pi/180)

// sides are the views of one part as turns that take it before a camera that looks along y: from the front (against y
// of the part frame), from the right, from above, and slanted. Right and above stand where a third-angle drawing has them.
var sides = []struct {
	name       string
	pose       geom.Pose
	across, up float64 // place on the sheet, in views
}{
	{"from the front", geom.Identity(), 0, 0},
	{"from the right", geom.Pose{X: geom.AxisY.Neg(), Y: geom.AxisX, Z: geom.AxisZ}, 1, 0},
	{"from above", geom.Pose{X: geom.AxisX, Y: geom.AxisZ, Z: geom.AxisY.Neg()}, 0, 1},
	{"slanted", seenBy(slantCamera), 1, 1},
}

// seenBy is the turn that shows a part to a camera that looks along y as c sees it.
func seenBy(c render.Camera) geom.Pose {
	column := func(e geom.Vec) geom.Vec { return geom.V(c.Right.Dot(e), -c.Back.Dot(e), c.Up.Dot(e)) }
	return geom.Pose{X: column(geom.AxisX), Y: column(geom.AxisY), Z: column(geom.AxisZ)}
}

// Sides draws one part from three sides and slanted. The header gives units; name stands in the title.
func Sides(h assembly.Header, part assembly.Part, m *mesh.Mesh, name string) (*Picture, error) {
	h.Title = name
	plan := &assembly.Plan{Design: h}
	whole := mesh.Bounds(m)
	size := whole.Size()
	gap := sideGap * max(size.X, size.Y, size.Z)
	boxes := make([]geom.Box, len(sides))
	var wide, high float64 // of the first column and row
	for i, s := range sides {
		boxes[i] = s.pose.Box(whole)
		if s.across == 0 {
			wide = max(wide, boxes[i].Size().X)
		}
		if s.up == 0 {
			high = max(high, boxes[i].Size().Z)
		}
	}
	for i, s := range sides {
		p := part
		b := boxes[i]
		p.ID = s.name
		p.Number = 1
		p.Pose = s.pose.Moved(geom.V(s.across*(wide+gap)-b.Min.X, -b.Max.Y, s.up*(high+gap)-b.Min.Z))
		boxes[i] = p.Pose.Box(whole)
		plan.Parts = append(plan.Parts, p)
	}
	st := newStage(plan, func(assembly.Part) *mesh.Mesh { return m })
	front := render.Camera{Right: geom.AxisX, Up: geom.AxisZ, Back: geom.AxisY.Neg()}
	frame := drawingFrame
	frame.Bottom -= 2 * belowMM // room for the names of the views
	sh := newSheet(st, st.scene, front, frame)
	if err := sh.draw(); err != nil {
		return nil, fmt.Errorf("drawing %s: %w", name, err)
	}
	for i, s := range sides {
		at, _ := sh.sheetPoint(geom.V(boxes[i].Centre().X, 0, boxes[i].Min.Z))
		sh.over.centred(lettering.Regular, s.name, lettering.NoteMM, at.X, at.Y+belowMM, markInk)
	}
	sh.title("one part", overall(units.System(h.Units), whole))
	return sh.picture("sides")
}
