package planfile_test

import (
	"fmt"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// 3/4 taper pipe thread, in mm: ASME B1.20.1 (14 threads to the inch, L1) and the handbook's normal engagement 9/16 in.
const (
	pitch     = 25.4 / 14
	handTight = 8.6106
	engaged   = 14.2875
)

// sample is an invented plan that uses every kind of field once: a post on a flange, a union, a board on a strap.
func sample() assembly.Plan {
	price, source := 3.2, "the design, line 12"
	up := geom.AxisZ
	flange := assembly.Part{
		ID: "foot", Number: 1, Kind: standard.Flange, Size: assembly.Sizes{"3/4"}, Pose: geom.Identity(), MassKG: 0.512345678,
		Solid: "solids/01-flange.stl", Override: []string{"height"}, Family: standard.NPT, Material: "iron", Finish: "black",
		Ports: []assembly.Port{{Name: "face", Out: up.Neg()}, {Name: "a", At: geom.V(0, 0, 20), Out: up}},
		Dims:  standard.Dims{standard.DimHeight: {MM: 20, Source: "measured", Grade: standard.Measured}, standard.DimHoles: {MM: 4, Source: "common practice", Grade: standard.CommonPractice}},
	}
	base := 20 - engaged
	post := assembly.Part{
		ID: "post.1", Number: 2, Kind: standard.Pipe, Size: assembly.Sizes{"3/4", "3/4"}, LengthMM: 600, Stock: true,
		Pose: geom.At(geom.V(0, 0, base)), MassKG: 1.01, Solid: "solids/02-pipe.stl", Family: standard.NPT, Material: "steel", Finish: "black",
		Ports: []assembly.Port{{Name: "a", At: geom.V(0, 0, base), Out: up.Neg()}, {Name: "b", At: geom.V(0, 0, base+600), Out: up}},
		Dims:  standard.Dims{standard.DimOD: {MM: 26.67, Source: "ASME B36.10M", Grade: standard.Verified}},
	}
	shelf := assembly.Part{
		ID: "shelf", Number: 3, Kind: standard.Board, Pose: geom.At(geom.V(-100, -100, 300)), MassKG: 2, Solid: "solids/03-board.stl", Material: "pine",
		Boxes: []geom.Box{{Max: geom.V(200, 200, 18)}}, Holes: []assembly.Hole{{At: geom.V(100, 100, 0), Dir: up, Diameter: 29.4}},
	}
	room := assembly.Part{ID: "room", Kind: standard.Room, Pose: geom.Identity(), Boxes: []geom.Box{{Min: geom.V(-1000, -1000, -50), Max: geom.V(1000, 1000, 0)}}}
	return assembly.Plan{
		Format: assembly.Format, Design: assembly.Header{Title: "Sample <one> & \"only\"", Units: "mm", Thread: standard.NPT},
		Parts: []assembly.Part{room, flange, post, shelf},
		Joints: []assembly.Joint{
			{ID: "foot-room", Kind: assembly.Face, A: assembly.End{Part: "foot", Port: "face"}, B: assembly.End{Part: "room"}},
			{ID: "foot-post", Kind: assembly.Thread, A: assembly.End{Part: "foot", Port: "a"}, B: assembly.End{Part: "post.1", Port: "a"},
				Axis: &assembly.Axis{At: geom.V(0, 0, 20), Dir: up}, Hand: "right", PitchMM: pitch, EngagementMM: engaged,
				Turns: &assembly.Window{Min: handTight/pitch + 0.5, Max: engaged/pitch + 1}, HandTightMM: handTight},
			{ID: "shelf-post", Kind: assembly.Bored, A: assembly.End{Part: "shelf"}, B: assembly.End{Part: "post.1"}},
		},
		Steps: []assembly.Step{
			{Number: 1, Action: assembly.Fasten, Moves: []string{"foot"}, Onto: []string{"room"}, Joints: []string{"foot-room"},
				Start: geom.At(geom.V(0, 0, 50)), Motion: []assembly.Move{{Kind: assembly.Translate, By: geom.V(0, 0, -50)}}, Where: "place", People: 1, Text: "Fasten it.", Seconds: 12.1},
			{Number: 2, Action: assembly.Screw, Moves: []string{"post.1"}, Onto: []string{"foot"}, Joints: []string{"foot-post"}, Turns: engaged / pitch,
				Start:  geom.At(geom.V(0, 0, base)).Turned(geom.Vec{}, up, 1, 80),
				Motion: []assembly.Move{{Kind: assembly.Turn, Axis: assembly.Axis{Dir: up.Neg()}, ByDeg: 360 * engaged / pitch, AdvanceMM: engaged}}, SwingRadiusMM: 13.3, Picture: 2, Where: "place", People: 1, Seconds: 45.2,
				Clock: &assembly.Clock{Part: "post.1", Port: "", Toward: geom.AxisX, Against: "room", Symmetry: 2, StopTurns: 0.5, Stops: 5, StopMM: pitch / 2}},
			{Number: 3, Action: assembly.ThreadOn, Moves: []string{"shelf"}, Onto: []string{"post.1"}, Joints: []string{"shelf-post"},
				Start: geom.At(geom.V(-100, -100, 700)), Motion: []assembly.Move{{Kind: assembly.Translate, By: geom.V(0, 0, -400)}}, Where: "place", People: 2, Props: []string{"shelf"}},
		},
		Findings: []assembly.Finding{{
			Code: "SAG", Severity: assembly.Warn, Text: "it sags", Parts: []string{"shelf"}, Values: map[string]float64{"sag_mm": 3.25, "limit_mm": 2},
			Repairs: []assembly.Repair{{Text: "thicker", Verified: true, Edits: []assembly.Edit{{Line: 4, Old: "a: 1", New: "a: 2"}}}}, Source: "span/240", At: "sample.yaml:4:1",
		}},
		Cuts: []assembly.Cut{{Number: 2, Size: "3/4", LengthMM: 600, Count: 1, Label: "post.1", Formula: "620 - 20 = 600", Measure: []string{"3/4 in tee length taken as 20 mm"},
			Stock: &assembly.Stock{LengthMM: 609.6, Moves: []assembly.PointShift{{Point: "top", By: geom.V(0, 0, 9.6)}, {Point: "tie", By: geom.V(-1.5, 0, 0)}}}}},
		Shopping: []assembly.Item{
			{Group: "pipe", Kind: standard.Pipe, Text: "3/4 pipe", Size: assembly.Sizes{"3/4"}, Number: 2, LengthMM: 600, Count: 1, PriceEach: &price, PriceSource: &source},
			{Group: "fittings", Kind: standard.Tee, Text: "tee, measure yours", Size: assembly.Sizes{"3/4", "3/4", "1/2"}, Count: 2, Spare: 1},
			{Group: "finish", Text: "rags", Count: 1},
		},
		Assumptions: []assembly.Assumption{{Text: "normal engagement", Key: "make-up"}},
		Effort:      assembly.Effort{Seconds: 57.3, Hardest: []int{2, 1}},
	}
}

// grid is a plan of n bodies for timing: n pipes that lie side by side and rest on nothing.
func grid(n int) assembly.Plan {
	p := sample()
	post := p.Parts[2]
	p.Parts, p.Joints, p.Steps, p.Findings, p.Shopping, p.Cuts = nil, nil, nil, nil, nil, nil
	p.Effort = assembly.Effort{}
	for i := range n {
		q := post
		q.ID, q.Number = fmt.Sprint("pipe.", i), 1
		at := geom.V(float64(i)*50, 0, 0)
		q.Pose = geom.At(at)
		q.Ports = []assembly.Port{{Name: "a", At: at, Out: geom.AxisZ.Neg()}, {Name: "b", At: at.Add(geom.V(0, 0, 600)), Out: geom.AxisZ}}
		p.Parts = append(p.Parts, q)
		p.Steps = append(p.Steps, assembly.Step{Number: i + 1, Action: assembly.Place, Moves: []string{q.ID}, Start: q.Pose, Where: "place", People: 1})
	}
	return p
}
