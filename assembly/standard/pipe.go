package standard

import (
	"fmt"
	"math"
)

// Series of pipe.
const (
	Schedule40 = "schedule 40"
	Medium     = "medium"
	Heavy      = "heavy"
)

// SteelDensity and IronDensity are in kg/mm3. Steel: 7.85 g/cm3, as the pipe standards reckon with; it reproduces their
// mass columns (tested). Malleable iron: 7.2 to 7.4 g/cm3, from memory, its middle.
const (
	SteelDensity = 7.85e-6
	IronDensity  = 7.3e-6
)

// PipeOf returns the row of a pipe. An empty series is schedule 40 (npt) or medium (bspt).
func PipeOf(f Family, s Size, series string) (PipeRow, error) {
	if index(s) < 0 {
		return PipeRow{}, &SizeError{Found: string(s)}
	}
	if series == "" {
		series = map[Family]string{NPT: Schedule40, BSPT: Medium}[f]
	}
	od, ok := look(f, series, string(s), "od")
	if !ok {
		return PipeRow{}, fmt.Errorf("no %s %s pipe of series %q; npt has schedule 40, bspt medium or heavy", s, f, series)
	}
	get := func(dim string) Figure {
		v, _ := look(f, series, string(s), dim)
		return v
	}
	return PipeRow{Family: f, Size: s, Series: series, OD: od, Wall: get("wall"), Mass: get("mass"), YieldMPa: get("yield")}, nil
}

// SectionMM2 is the area of metal across the pipe.
func (r PipeRow) SectionMM2() float64 { return math.Pi * r.Wall.MM * (r.OD.MM - r.Wall.MM) }

// NippleRow is one length that is sold threaded at both ends. Class is close, short, long or pre-cut.
type NippleRow struct {
	Size   Size
	Class  string
	Length Figure
}

// CloseNipple is the shortest pipe with two threads. For bspt no table is at hand: two useful threads and a turn each.
func CloseNipple(f Family, s Size) Figure {
	if f == BSPT {
		r, err := Thread(f, s)
		if err != nil {
			return Figure{}
		}
		return assumed(2*(r.L2.MM+r.Pitch.MM), "no bspt table: two useful threads of ISO 7-1 and a turn each")
	}
	for _, n := range loaded().nipples[s] {
		if n.Class == "close" {
			return n.Length
		}
	}
	return Figure{}
}

// FullStick is the length in which a mill sells pipe of a family, the longest that a shop can thread.
func FullStick(f Family) Figure {
	if f == BSPT {
		return assumed(6000, "usual mill length of threaded tube in metric countries; common practice, no source")
	}
	return assumed(21*12*25.4, "usual mill length of pipe, single random, 21 ft; common practice, no source")
}

// StockLengths are the lengths of one size that shops keep threaded at both ends, shortest first. The inch steps stand
// for both families until a design gives its own.
func StockLengths(f Family, s Size) []Figure {
	var out []Figure
	least := CloseNipple(f, s).MM
	if f == BSPT && index(s) >= 0 {
		out = append(out, CloseNipple(f, s))
	}
	for _, n := range loaded().nipples[s] {
		if f == BSPT {
			if n.Length.MM <= least {
				continue
			}
			n.Length.Grade = MemoryLow
			n.Length.Source += "; assumed for bspt too"
		}
		out = append(out, n.Length)
	}
	return out
}
