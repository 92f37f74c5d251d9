package mockup

import (
	"fmt"
	"math"
	"slices"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// What a printer that melts filament does: common practice, no source.
const (
	DefaultBedMM       = 220.0
	DefaultClearanceMM = 0.15
	bedMarginMM        = 3.0 // kept free along the edge of a plate
	wallMM             = 0.9 // two lines of a 0.4 mm nozzle
	sheetMM            = 1.2 // the thinnest board or plate: six layers of 0.2 mm
	// LeastRodMM is the thinnest rod that stands by itself.
	LeastRodMM = 2.0
	// PinMM is the diameter of the filament that pins are cut from.
	PinMM     = 1.75
	pinHoleMM = PinMM + 0.2
)

// SmallestScale is the smallest that can be asked for: at 1:50 a joint of any pipe here is many times fatter than true.
const SmallestScale = 50

// soldMM is how long bought rods are sold, at least: common practice, no source.
const soldMM = 1000.0

// Scales are those a model is made at when none is asked for, largest first.
var Scales = []float64{4, 5, 6, 8, 10, 12, 15, 16, 20}

// fit is how rods of one nominal size join.
type fit struct {
	rod     float64 // diameter of the circle round the rod
	trueRod float64
	lugHigh float64 // beyond the rod's circle
	lugWide float64
	bore    float64 // radius of a socket
	slot    float64 // radius of its slot
	outer   float64 // radius of the body round a socket
}

// Proportions of lugs. A lug two lines high and some three wide is the least that does not shear off; it is also well
// narrower than the flat of a rod it stands on.
const (
	lugHighMM = 0.8
	lugWideMM = 1.0
)

func fitFor(odMM, scale, clearance float64) fit {
	f := fit{trueRod: odMM / scale, lugHigh: lugHighMM, lugWide: lugWideMM}
	f.rod = max(f.trueRod, LeastRodMM)
	f.bore = f.rod/2 + clearance
	f.slot = f.rod/2 + f.lugHigh + clearance
	f.outer = f.slot + wallMM
	return f
}

// chooseScale returns the scale asked for, or the largest at which all pieces go on the bed.
func chooseScale(plan assembly.Plan, o Options) (float64, error) {
	bed := max(o.BedMM[0], o.BedMM[1]) - 2*bedMarginMM
	across := min(o.BedMM[0], o.BedMM[1]) - 2*bedMarginMM
	least, which, takes := 0.0, "", 0.0 // what asks for the smallest model
	for _, p := range plan.Parts {
		room := bed
		if p.Kind == standard.Pipe && o.Bought {
			room = soldMM
		}
		long, wide := pieceSize(p)
		if l := long / room; l > least {
			least, which, takes = l, p.ID, room
		}
		if l := wide / across; l > least {
			least, which, takes = l, p.ID, across
		}
	}
	longest := least * takes
	switch s := o.Scale; {
	case least <= 0:
		return 0, fmt.Errorf("there is nothing to make a model of")
	case s != 0 && !(s >= 1 && s <= SmallestScale):
		return 0, fmt.Errorf("a scale of 1:%g: scales go from 1:1 to 1:%d", s, SmallestScale)
	case s > 0 && least > s && least > SmallestScale:
		return 0, fmt.Errorf("at 1:%g %s takes %.0f mm and there is room for %.0f mm; even at 1:%d it does not go there: take a larger bed", s, which, longest/s, takes, SmallestScale)
	case s > 0 && least > s:
		return 0, fmt.Errorf("at 1:%g %s takes %.0f mm and there is room for %.0f mm: take 1:%.0f or smaller, or a larger bed", s, which, longest/s, takes, math.Ceil(least))
	case s > 0:
		return s, nil
	}
	for _, s := range Scales {
		if least <= s {
			return s, nil
		}
	}
	return 0, fmt.Errorf("%s takes %.0f mm: even at 1:%g it does not go on a bed of %.0f mm", which, longest, Scales[len(Scales)-1], takes+2*bedMarginMM)
}

// NeedsMM is the least side of a square bed that takes all pieces at the scale of o.
func NeedsMM(plan assembly.Plan, o Options) float64 {
	most := 0.0
	for _, p := range plan.Parts {
		if long, _ := pieceSize(p); p.Kind != standard.Pipe || !o.Bought {
			most = max(most, long)
		}
	}
	return math.Ceil(most/o.Scale) + 2*bedMarginMM + 1 // a rod is a little longer than true
}

// pieceSize is the longest side of what is made of a part and the longest one square to it, in mm of the frame.
func pieceSize(p assembly.Part) (long, wide float64) {
	switch p.Kind {
	case standard.Pipe:
		return p.LengthMM, 0
	case standard.Room:
		return 0, 0
	}
	long = p.Dims[standard.DimAcross].MM
	for _, q := range p.Ports {
		for _, r := range p.Ports {
			long = max(long, q.At.Sub(r.At).Len())
		}
	}
	hull := geom.EmptyBox()
	for _, b := range p.Boxes {
		hull = hull.Union(b)
	}
	if len(p.Boxes) == 0 {
		return long, 0
	}
	s := hull.Size()
	sides := []float64{s.X, s.Y, s.Z}
	slices.Sort(sides)
	return sides[2], sides[1]
}

// sizes works out how rods of each size join, and tells what is thicker than true.
func (b *builder) sizes() error {
	for i := range b.from.Parts {
		p := &b.from.Parts[i]
		if p.Kind != standard.Pipe || len(p.Size) == 0 {
			continue
		}
		od := p.Dims[standard.DimOD].MM
		if od <= 0 {
			return fmt.Errorf("%s has no outside diameter", p.ID)
		}
		if err := b.fitOf(p.Size[0], od, "rods of "+string(p.Size[0])+" in pipe"); err != nil {
			return err
		}
	}
	if len(b.fits) == 0 {
		return fmt.Errorf("there is no pipe to make a model of")
	}
	return b.openings()
}

// openings works out how what goes into an opening joins where no pipe is of its size: it holds a bushing or a plug.
func (b *builder) openings() error {
	for i := range b.from.Parts {
		p := &b.from.Parts[i]
		for k, q := range p.Ports {
			od := p.Dims.MM(standard.DimOD, q.Name)
			if len(p.Size) == 0 || od <= 0 {
				continue
			}
			size := p.Size[min(k, len(p.Size)-1)]
			if err := b.fitOf(size, od, "threads of "+string(size)+" in"); err != nil {
				return err
			}
		}
	}
	return nil
}

// fitOf works out how bodies of one size of thread join.
func (b *builder) fitOf(size standard.Size, odMM float64, what string) error {
	if _, done := b.fits[size]; done {
		return nil
	}
	f := fitFor(odMM, b.scale, b.o.ClearanceMM)
	if b.o.Bought {
		d, ok := nearestRod(f.trueRod, b.o.Market)
		if !ok {
			return fmt.Errorf("no rod near %.1f mm can be bought: print the rods, or take another scale", f.trueRod)
		}
		f.rod = d
		f.bore, f.slot = d/2+b.o.ClearanceMM, d/2+b.o.ClearanceMM
		f.outer = f.bore + wallMM
	}
	b.fits[size] = f
	b.thick(what, f.trueRod, f.rod)
	return nil
}

// thick notes a dimension that is not true to scale.
func (b *builder) thick(what string, truly, is float64) {
	const told = 0.05
	if is-truly > told || truly-is > told {
		for _, t := range b.m.Thickened {
			if t.What == what {
				return
			}
		}
		b.m.Thickened = append(b.m.Thickened, Thick{what, truly, is})
	}
}

// boughtRods are diameters of wooden dowel, wire and metal rod sold by the piece: common practice, no source.
var boughtRods = map[string][]float64{
	"mm": {2, 2.5, 3, 4, 5, 6, 8, 10},
	"in": {25.4 * 3 / 32, 25.4 / 8, 25.4 * 3 / 16, 25.4 / 4, 25.4 * 5 / 16, 25.4 * 3 / 8},
}

// Markets lists the names of the tables of bought rods.
var Markets = []string{"mm", "in"}

// nearestRod is the bought rod nearest to a diameter, if one is near enough to look right.
func nearestRod(d float64, market string) (float64, bool) {
	const nearEnough = 1.5 // so many times thicker or thinner
	best, ok := 0.0, false
	for _, r := range boughtRods[market] {
		if r < LeastRodMM || r > d*nearEnough || d > r*nearEnough {
			continue
		}
		if !ok || abs(r-d) < abs(best-d) {
			best, ok = r, true
		}
	}
	return best, ok
}

func abs(x float64) float64 { return max(x, -x) }
