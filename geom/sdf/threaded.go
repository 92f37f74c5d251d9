package sdf

import (
	"math"

	"turnwise/geom"
)

// Zone is a stretch of a body's surface that carries a thread, between two circles about the thread's axis.
type Zone struct {
	Thread
	// Start and End are the circles, S along the thread's axis. Between Start and the thread's beginning at From runs
	// a cylinder, if Start.S is less than From, and then a flat face up to the thread's surface; likewise at the end.
	Start, End Station
	// Internal is true for a thread in a bore: the material lies outside its surface.
	Internal bool
	// Before and After are how far the tool that cuts the thread goes on beyond From and To: out of an open mouth, or
	// into a wider bore. 0 where the thread ends at a face of its own.
	Before, After float64
}

// sleeveMM is how far the tool of an external thread reaches beyond the metal.
const sleeveMM = 1.0

// Tool returns what cutting the thread takes away.
func (z Zone) Tool() Leafed {
	t := z.Thread
	if z.Internal {
		t.From, t.To = z.From-z.Before, z.To+z.After
		return Screw(t)
	}
	from, to := z.From-z.Before, z.To+z.After
	t.From, t.To = from-sleeveMM, to+sleeveMM
	l, ok := newLine(z.At, z.Dir)
	if !ok {
		return Empty()
	}
	radius := max(z.Start.R, z.End.R, t.widest(t.From, t.To)) + sleeveMM
	return Cut(Cylinder(l.point(from), l.dir, to-from, radius), Screw(t))
}

// moved returns the zone in the outer frame of pose.
func (z Zone) moved(pose geom.Pose) Zone {
	z.At, z.Dir, z.Side = pose.Apply(z.At), pose.Rotate(z.Dir), pose.Rotate(z.Side)
	return z
}

// threaded is a body with threads cut.
type threaded struct {
	field
	plain Leafed
	zones []Zone
}

// Threaded is stock with the tools of all zones cut away. Plain is the same body as it would be with each zone's surface
// replaced by the cone (or cylinder) between the zone's two circles; a mesher starts from it. The distance is that of Cut.
func Threaded(stock, plain Leafed, zones ...Zone) Leafed {
	tools := make([]Solid, len(zones))
	for i, z := range zones {
		tools[i] = z.Tool()
	}
	return &threaded{asField(Cut(stock, tools...)), plain, zones}
}

// Threads returns the plain body and the zones of a solid made by Threaded, moved or not, and false for every other one.
func Threads(s Solid) (plain Leafed, zones []Zone, ok bool) {
	switch v := s.(type) {
	case *threaded:
		return v.plain, v.zones, true
	case *posed:
		plain, zones, ok := Threads(v.of)
		if !ok {
			return nil, nil, false
		}
		out := make([]Zone, len(zones))
		for i, z := range zones {
			out[i] = z.moved(v.pose)
		}
		return Move(plain, v.pose), out, true
	}
	return nil, nil, false
}

// PlainCone returns the station at s of the cone between a zone's circles.
func (z Zone) PlainCone(s float64) Station {
	t := (s - z.Start.S) / (z.End.S - z.Start.S)
	if math.IsNaN(t) || math.IsInf(t, 0) {
		t = 0
	}
	return Station{s, z.Start.R + t*(z.End.R-z.Start.R)}
}
