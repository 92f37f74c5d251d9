package mockup

import (
	"fmt"
	"math"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// Figures of gauges, true size: common practice, no source.
const (
	gaugeWallMM  = 3.0
	gaugePlayMM  = 0.4 // that a ring slides on a pipe
	gaugePlateMM = 2.4
	gaugeArmMM   = 12.0
	punchMM      = 3.0 // hole to mark through
)

// Gauge is a tool at true size: "ring", "holes" or "plug".
type Gauge struct {
	Kind, Name string
	Solid      sdf.Leafed
}

// Gauges are tools at true size for the frame of a plan: for every size of pipe a ring as long as the thread goes in, for
// every size of flange a cross with the places of its screw holes, and for every hole a pipe goes through a plug that
// must pass the hole.
func Gauges(plan assembly.Plan) []Gauge {
	var out []Gauge
	seen := map[string]bool{}
	add := func(kind, name string, s sdf.Leafed) {
		if !seen[name] {
			seen[name] = true
			out = append(out, Gauge{kind, name, s})
		}
	}
	for i := range plan.Joints {
		j := &plan.Joints[i]
		if j.Kind != assembly.Thread {
			continue
		}
		for _, e := range []assembly.End{j.A, j.B} {
			for k := range plan.Parts {
				p := &plan.Parts[k]
				if p.ID == e.Part && p.Kind == standard.Pipe && len(p.Size) > 0 {
					add("ring", fmt.Sprintf("ring %s in, %.1f mm long", p.Size[0], j.EngagementMM), ring(p.Dims[standard.DimOD].MM, j.EngagementMM))
				}
			}
		}
	}
	for i := range plan.Parts {
		p := &plan.Parts[i]
		if p.Kind == standard.Flange && len(p.Size) > 0 {
			if circle, n := p.Dims[standard.DimCircle].MM, int(p.Dims[standard.DimHoles].MM+0.5); circle > 0 && n > 0 {
				add("holes", fmt.Sprintf("holes of a %s in flange", p.Size[0]), holeGauge(circle, n))
			}
		}
		for _, h := range p.Holes {
			if h.Depth == 0 && h.Diameter > 0 {
				add("plug", fmt.Sprintf("plug for a hole of %.1f mm", h.Diameter), plugGauge(h.Diameter))
			}
		}
	}
	return out
}

// ring slides on a pipe end: where the fitting's mouth must come to is where the ring ends.
func ring(od, engagement float64) sdf.Leafed {
	bore := (od + gaugePlayMM) / 2
	return sdf.Tube(geom.Vec{}, geom.AxisZ, engagement, bore+gaugeWallMM, bore)
}

// holeGauge is a bar for each pair of holes, with a hole to mark through at each end and in the middle.
func holeGauge(circle float64, n int) sdf.Leafed {
	long := circle/2 + gaugeArmMM/2
	var bars, cuts []sdf.Solid
	through := func(at geom.Vec) {
		cuts = append(cuts, sdf.Cylinder(at.Sub(geom.V(0, 0, 1)), geom.AxisZ, gaugePlateMM+2, punchMM/2))
	}
	through(geom.Vec{})
	for i := range n {
		dir := turn(geom.AxisX, geom.AxisZ, 2*math.Pi*float64(i)/float64(n))
		pose := geom.Pose{X: dir, Y: geom.AxisZ.Cross(dir), Z: geom.AxisZ}
		bars = append(bars, sdf.Move(sdf.Box(geom.Box{Min: geom.V(-gaugeArmMM/2, -gaugeArmMM/2, 0), Max: geom.V(long, gaugeArmMM/2, gaugePlateMM)}), pose))
		through(dir.Mul(circle / 2))
	}
	return sdf.Cut(sdf.Join(bars...), cuts...)
}

// plugGauge passes a hole that is large enough, and has a grip that does not.
func plugGauge(diameter float64) sdf.Leafed {
	const high, grip = 12, 4
	return sdf.Revolve(geom.Vec{}, geom.AxisZ, []sdf.Station{
		{S: 0, R: 0}, {S: 0, R: diameter/2 + gaugeWallMM}, {S: grip, R: diameter/2 + gaugeWallMM}, {S: grip, R: diameter / 2}, {S: high, R: diameter / 2}, {S: high, R: 0},
	})
}
