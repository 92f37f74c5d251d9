package planfile

import (
	"bytes"
	"fmt"
	"io"
	"slices"

	"turnwise/assembly"
	"turnwise/geom"
)

// Decimals kept in the file.
const (
	lengthDecimals = 6  // mm: a millionth is far below any tolerance, and hides the last bits of sums
	turnDecimals   = 9  // turns, degrees, pitches: 360 x turns stays true to a millionth of a degree
	unitDecimals   = 12 // directions: rounded ones stay unit to 2e-12
	massDecimals   = 6  // kg: a milligram
	valueDecimals  = 6  // values of findings, in whatever unit
	secondDecimals = 1  // an estimate
	moneyDecimals  = 4
)

// Write writes p as plan.json. The bytes depend on p alone. It fails on numbers that are infinite or not a number,
// naming the first, and on errors of w.
func Write(w io.Writer, p assembly.Plan) error {
	n := planNode(p)
	if err := check("", n); err != nil {
		return fmt.Errorf("writing the plan: %w", err)
	}
	var b bytes.Buffer
	print(&b, n, 0)
	b.WriteByte('\n')
	_, err := w.Write(b.Bytes())
	return err
}

// FindingsOnly is the plan of a design that could not be read or solved: only what was found.
func FindingsOnly(h assembly.Header, found []assembly.Finding) assembly.Plan {
	return assembly.Plan{Format: assembly.Format, Design: h, Findings: found}
}

func planNode(p assembly.Plan) node {
	return object(
		field{"format", text(p.Format)},
		field{"design", headerNode(p.Design)},
		field{"parts", list(p.Parts, partNode)},
		field{"joints", list(p.Joints, jointNode)},
		field{"loops", list(p.Loops, loopNode)},
		field{"steps", list(p.Steps, stepNode)},
		field{"findings", list(p.Findings, findingNode)},
		field{"cuts", list(p.Cuts, cutNode)},
		field{"shopping", list(p.Shopping, itemNode)},
		field{"assumptions", list(p.Assumptions, assumptionNode)},
		field{"effort", effortNode(p.Effort)},
	)
}

func headerNode(h assembly.Header) node {
	return object(
		field{"title", text(h.Title)},
		field{"units", textOrNull(h.Units)},
		field{"thread", textOrNull(string(h.Thread))},
	)
}

func assumptionNode(a assembly.Assumption) node {
	return object(field{"text", text(a.Text)}, field{"key", text(a.Key)})
}

func partNode(p assembly.Part) node {
	isRoom := p.Kind == "room"
	mass := number(p.MassKG, massDecimals)
	if isRoom {
		mass = null()
	}
	return object(
		field{"id", text(p.ID)},
		field{"number", countOrNull(p.Number)},
		field{"kind", text(string(p.Kind))},
		field{"size", sizesNode(p.Size)},
		field{"length_mm", lengthOrNull(p.LengthMM)},
		field{"stock", truth(p.Stock)},
		field{"pose", poseNode(p.Pose)},
		field{"mass_kg", mass},
		field{"solid", textOrNull(p.Solid)},
		field{"override", list(p.Override, text)},
		field{"ports", list(p.Ports, portNode)},
		field{"boxes", list(p.Boxes, boxNode)},
		field{"holes", list(p.Holes, holeNode)},
		field{"thread", textOrNull(string(p.Family))},
		field{"material", textOrNull(p.Material)},
		field{"finish", textOrNull(p.Finish)},
		field{"left", textOrNull(p.LeftEnd)},
		field{"half", textOrNull(p.Half)},
		field{"running", textOrNull(p.Running)},
		field{"loose", truth(p.Loose)},
		field{"dims", dimsNode(p)},
	)
}

// dimsNode lists dimensions by name.
func dimsNode(p assembly.Part) node {
	names := sortedKeys(p.Dims)
	fields := make([]field, len(names))
	for i, name := range names {
		f := p.Dims[name]
		fields[i] = field{name, object(
			field{"mm", number(f.MM, turnDecimals)}, // a pitch is among them
			field{"source", text(f.Source)},
			field{"grade", text(string(f.Grade))},
		)}
	}
	return object(fields...)
}

// sizesNode is text when all openings are alike, else one text per opening, and null for a part without sizes.
func sizesNode(s assembly.Sizes) node {
	if len(s) == 0 {
		return null()
	}
	for _, one := range s {
		if one != s[0] {
			n := node{kind: listKind}
			for _, one := range s {
				n.items = append(n.items, text(string(one)))
			}
			return n
		}
	}
	return text(string(s[0]))
}

func portNode(p assembly.Port) node {
	return object(field{"name", text(p.Name)}, field{"at_mm", pointNode(p.At)}, field{"out", dirNode(p.Out)})
}

func boxNode(b geom.Box) node {
	return object(field{"min_mm", pointNode(b.Min)}, field{"max_mm", pointNode(b.Max)})
}

func holeNode(h assembly.Hole) node {
	return object(
		field{"at_mm", pointNode(h.At)},
		field{"dir", dirNode(h.Dir)},
		field{"d_mm", number(h.Diameter, lengthDecimals)},
		field{"depth_mm", lengthOrNull(h.Depth)},
	)
}

func jointNode(j assembly.Joint) node {
	axis, turns := null(), null()
	if j.Axis != nil {
		axis = axisNode(*j.Axis)
	}
	if j.Turns != nil {
		turns = object(field{"min", number(j.Turns.Min, turnDecimals)}, field{"max", number(j.Turns.Max, turnDecimals)})
	}
	return object(
		field{"id", text(j.ID)},
		field{"kind", text(string(j.Kind))},
		field{"a", endNode(j.A)},
		field{"b", endNode(j.B)},
		field{"axis", axis},
		field{"hand", textOrNull(j.Hand)},
		field{"pitch_mm", pitchOrNull(j.PitchMM)},
		field{"engagement_mm", lengthOrNull(j.EngagementMM)},
		field{"turns", turns},
		field{"override", list(j.Override, text)},
		field{"hand_tight_mm", lengthOrNull(j.HandTightMM)},
		field{"reopens", truth(j.Kind.Reopens())},
	)
}

func endNode(e assembly.End) node {
	return object(field{"part", text(e.Part)}, field{"port", textOrNull(e.Port)})
}

func axisNode(a assembly.Axis) node {
	return object(field{"at_mm", pointNode(a.At)}, field{"dir", dirNode(a.Dir)})
}

func loopNode(l assembly.Loop) node {
	return object(field{"parts", list(l.Parts, text)}, field{"closed_by", textOrNull(l.ClosedBy)})
}

func stepNode(s assembly.Step) node {
	return object(
		field{"number", count(s.Number)},
		field{"action", text(string(s.Action))},
		field{"moves", list(s.Moves, text)},
		field{"onto", list(s.Onto, text)},
		field{"joints", list(s.Joints, text)},
		field{"turns", pitchOrNull(s.Turns)},
		field{"start", startNode(s.Moves, s.Start)},
		field{"motion", list(s.Motion, moveNode)},
		field{"swing_radius_mm", swingNode(s)},
		field{"picture", countOrNull(s.Picture)},
		field{"where", textOrNull(s.Where)},
		field{"people", count(s.People)},
		field{"text", text(s.Text)},
		field{"draws", list(s.Draws, drawNode)},
		field{"repeats", list(s.Repeats, repeatNode)},
		field{"clock", clockNode(s.Clock)},
		field{"props", list(s.Props, text)},
		field{"seconds", number(s.Seconds, secondDecimals)},
		field{"mirrored", truth(s.Mirrored)},
	)
}

// startNode is null when nothing moves.
func startNode(moves []string, p geom.Pose) node {
	if len(moves) == 0 {
		return null()
	}
	return poseNode(p)
}

// swingNode is null when nothing turns.
func swingNode(s assembly.Step) node {
	for _, m := range s.Motion {
		if m.Kind == assembly.Turn {
			return number(s.SwingRadiusMM, lengthDecimals)
		}
	}
	return null()
}

func repeatNode(r assembly.Repeat) node {
	return object(
		field{"moves", list(r.Moves, text)},
		field{"onto", list(r.Onto, text)},
		field{"joints", list(r.Joints, text)},
		field{"motion", list(r.Motion, moveNode)},
		field{"start", startNode(r.Moves, r.Start)},
		field{"draws", list(r.Draws, drawNode)},
		field{"clock", clockNode(r.Clock)},
	)
}

// clockNode is null for a joint that may stop at any angle.
func clockNode(c *assembly.Clock) node {
	if c == nil {
		return null()
	}
	return object(
		field{"part", text(c.Part)},
		field{"port", textOrNull(c.Port)},
		field{"toward", dirNode(c.Toward)},
		field{"against", textOrNull(c.Against)},
		field{"symmetry", count(c.Symmetry)},
		field{"stop_turns", number(c.StopTurns, turnDecimals)},
		field{"stops", count(c.Stops)},
		field{"stop_mm", number(c.StopMM, lengthDecimals)},
	)
}

func effortNode(e assembly.Effort) node {
	return object(field{"seconds", number(e.Seconds, secondDecimals)}, field{"hardest", list(e.Hardest, count)})
}

func drawNode(d assembly.Draw) node {
	return object(field{"moves", list(d.Moves, text)}, field{"by_mm", pointNode(d.By)})
}

func moveNode(m assembly.Move) node {
	if m.Kind == assembly.Translate {
		return object(field{"kind", text("translate")}, field{"by_mm", pointNode(m.By)})
	}
	return object(
		field{"kind", text(string(m.Kind))},
		field{"axis", axisNode(m.Axis)},
		field{"by_deg", number(m.ByDeg, turnDecimals)},
		field{"advance_mm", number(m.AdvanceMM, turnDecimals)},
	)
}

func findingNode(f assembly.Finding) node {
	names := sortedKeys(f.Values)
	values := make([]field, len(names))
	for i, name := range names {
		values[i] = field{name, number(f.Values[name], valueDecimals)}
	}
	return object(
		field{"code", text(f.Code)},
		field{"severity", text(string(f.Severity))},
		field{"text", text(f.Text)},
		field{"parts", list(f.Parts, text)},
		field{"values", object(values...)},
		field{"repairs", list(f.Repairs, repairNode)},
		field{"source", textOrNull(f.Source)},
		field{"at", textOrNull(f.At)},
	)
}

func repairNode(r assembly.Repair) node {
	return object(
		field{"text", text(r.Text)},
		field{"verified", truth(r.Verified)},
		field{"tried", truth(r.Tried)},
		field{"leaves", count(r.Leaves)},
		field{"edits", list(r.Edits, editNode)},
	)
}

func editNode(e assembly.Edit) node {
	return object(field{"line", count(e.Line)}, field{"old", text(e.Old)}, field{"new", text(e.New)})
}

func cutNode(c assembly.Cut) node {
	stock := null()
	if c.Stock != nil {
		stock = object(
			field{"length_mm", number(c.Stock.LengthMM, lengthDecimals)},
			field{"moves", list(c.Stock.Moves, shiftNode)},
		)
	}
	return object(
		field{"number", countOrNull(c.Number)},
		field{"size", text(string(c.Size))},
		field{"length_mm", number(c.LengthMM, lengthDecimals)},
		field{"count", count(c.Count)},
		field{"label", text(c.Label)},
		field{"stock", stock},
		field{"formula", text(c.Formula)},
		field{"measure", list(c.Measure, text)},
	)
}

func shiftNode(s assembly.PointShift) node {
	return object(field{"point", text(s.Point)}, field{"by_mm", pointNode(s.By)})
}

func itemNode(it assembly.Item) node {
	price, source := null(), null()
	if it.PriceEach != nil {
		price = number(*it.PriceEach, moneyDecimals)
	}
	if it.PriceSource != nil {
		source = text(*it.PriceSource)
	}
	return object(
		field{"group", text(it.Group)},
		field{"kind", textOrNull(string(it.Kind))},
		field{"text", text(it.Text)},
		field{"size", sizesNode(it.Size)},
		field{"number", countOrNull(it.Number)},
		field{"length_mm", lengthOrNull(it.LengthMM)},
		field{"count", count(it.Count)},
		field{"spare", count(it.Spare)},
		field{"price_each", price},
		field{"price_source", source},
	)
}

func poseNode(p geom.Pose) node {
	return object(
		field{"origin_mm", pointNode(p.Origin)},
		field{"x", dirNode(p.X)},
		field{"y", dirNode(p.Y)},
		field{"z", dirNode(p.Z)},
	)
}

func pointNode(v geom.Vec) node { return vecNode(v, lengthDecimals) }
func dirNode(v geom.Vec) node   { return vecNode(v, unitDecimals) }

func vecNode(v geom.Vec, decimals int) node {
	return node{kind: listKind, items: []node{number(v.X, decimals), number(v.Y, decimals), number(v.Z, decimals)}}
}

// lengthOrNull is null for 0, which stands for "does not apply".
func lengthOrNull(mm float64) node {
	if mm == 0 {
		return null()
	}
	return number(mm, lengthDecimals)
}

// pitchOrNull is null for 0; it keeps the decimals of turns and pitches.
func pitchOrNull(x float64) node {
	if x == 0 {
		return null()
	}
	return number(x, turnDecimals)
}

// sortedKeys makes the order of a map's names one and the same.
func sortedKeys[V any](m map[string]V) []string {
	names := make([]string, 0, len(m))
	for name := range m {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}
