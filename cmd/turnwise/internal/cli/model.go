package cli

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"turnwise/assembly/mockup"
	"turnwise/cmd/turnwise/internal/pipeline"
)

// modelFlags are how the scale model is made, as written.
type modelFlags struct {
	scale string
	bed   string
	fit   float64
	rods  string
	room  bool
	whole bool
}

// addTo adds the flags to a command.
func (m *modelFlags) addTo(f *pflag.FlagSet) {
	f.StringVar(&m.scale, "model-scale", "", "size of the scale model, such as 1:8 (default: the largest whose pieces go on the bed)")
	f.StringVar(&m.bed, "model-bed", "220", "bed of the printer in mm: one number, or 220x250")
	f.Float64Var(&m.fit, "model-fit", mockup.DefaultClearanceMM, "clearance of the model's joints in mm, all round")
	f.StringVar(&m.rods, "model-rods", "printed", "rods of the model: printed, or bought by the "+strings.Join(mockup.Markets, " or the "))
	f.BoolVar(&m.room, "model-room", false, "print floor and walls near the frame too, as plates")
	f.BoolVar(&m.whole, "model-one-piece", false, "make the whole frame in one piece too, cut where it does not go on the bed")
}

// Bounds of what a printer can be.
const (
	leastBedMM, mostBedMM = 80, 1000
	leastFitMM, mostFitMM = 0.05, 0.6
)

// options reads the flags.
func (m modelFlags) options() (mockup.Options, error) {
	o := mockup.Options{ClearanceMM: m.fit, RoomPlates: m.room, OnePiece: m.whole}
	if !(m.fit >= leastFitMM && m.fit <= mostFitMM) {
		return o, fmt.Errorf("--model-fit %g: a clearance lies between %g and %g mm", m.fit, leastFitMM, mostFitMM)
	}
	if m.scale != "" {
		s, err := pipeline.ParseScale(m.scale)
		if err != nil {
			return o, fmt.Errorf("--model-scale: %w", err)
		}
		if o.Scale = s.From / s.To; o.Scale < 1 || o.Scale > mockup.SmallestScale {
			return o, fmt.Errorf("--model-scale %s: a model is from 1:1 down to 1:%d", m.scale, mockup.SmallestScale)
		}
	}
	sides := strings.Split(m.bed, "x")
	if len(sides) == 1 {
		sides = append(sides, sides[0])
	}
	for i, side := range sides {
		v, err := strconv.ParseFloat(strings.TrimSpace(side), 64)
		if len(sides) != 2 || err != nil || !(v >= leastBedMM && v <= mostBedMM) {
			return o, fmt.Errorf("--model-bed %q: one number or two, such as 220 or 220x250, each from %d to %d mm", m.bed, leastBedMM, mostBedMM)
		}
		o.BedMM[i] = v
	}
	switch {
	case m.rods == "printed":
	case slices.Contains(mockup.Markets, m.rods):
		o.Bought, o.Market = true, m.rods
	default:
		return o, fmt.Errorf("--model-rods %q: printed, %s", m.rods, strings.Join(mockup.Markets, " or "))
	}
	return o, nil
}
