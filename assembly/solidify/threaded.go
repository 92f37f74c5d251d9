package solidify

import (
	"fmt"
	"math"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom/sdf"
)

// Threaded returns the solid of a part in its part frame, with helical threads in place of the plain cones of Solid. The
// result is an sdf.Leafed that sdf.Threads can take apart; parts without threads are as Solid makes them.
func Threaded(p assembly.Part) (sdf.Solid, error) {
	s, err := threaded(p)
	if err != nil {
		return nil, fmt.Errorf("threaded solid of %s: %w", p.ID, err)
	}
	return s, nil
}

func threaded(p assembly.Part) (sdf.Leafed, error) {
	if isBoxes(p.Kind) || p.Family == "" {
		return solid(p)
	}
	shape, err := standard.ThreadedOf(p.Kind, p.Half, p.Dims, p.Family, p.LeftEnd)
	if err != nil {
		return nil, err
	}
	plain, err := body(shape.Plain)
	if err != nil || len(shape.Threads) == 0 {
		return plain, err
	}
	stock, err := body(shape.Stock)
	if err != nil {
		return nil, err
	}
	var zones []sdf.Zone
	for _, h := range shape.Threads {
		zones = append(zones, zone(h))
	}
	for _, z := range zones {
		if z.Tool().Bounds().IsEmpty() {
			return nil, fmt.Errorf("its dimensions make no thread")
		}
	}
	return sdf.Threaded(stock, plain, zones...), nil
}

// zone gives a thread in the words of package sdf. The start of the helix stands anywhere: at angle 0 of any frame.
func zone(h standard.Helix) sdf.Zone {
	limits := func(ls []standard.Line) []sdf.Limit {
		var out []sdf.Limit
		for _, l := range ls {
			out = append(out, sdf.Limit{Radius: l.R, Slope: l.Slope})
		}
		return out
	}
	return sdf.Zone{
		Thread: sdf.Thread{
			At: vec(h.At), Dir: vec(h.Dir), Side: vec(h.Dir).Across(), From: h.From, To: h.To, Pitch: h.Pitch, Left: h.Left,
			Cone: sdf.Limit{Radius: h.Cone.R, Slope: h.Cone.Slope}, Flank: h.FlankDeg * math.Pi / 180, Round: h.Round,
			Floor: limits(h.Floor), Ceiling: limits(h.Ceiling), FloorWins: h.Internal,
		},
		Start: sdf.Station(h.Start), End: sdf.Station(h.End), Internal: h.Internal, Before: h.Before, After: h.After,
	}
}
