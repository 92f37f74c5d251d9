package picture

import (
	"math"

	"turnwise/render/callout"
	"turnwise/render/raster"
)

// Scores is what was measured on a picture, on the buffers it was made from.
type Scores struct {
	Picture      string        `json:"picture"`
	AzimuthDeg   float64       `json:"azimuth_deg"`
	ElevationDeg float64       `json:"elevation_deg"`
	Scale        float64       `json:"scale"` // sheet millimetres per millimetre
	Numbers      []NumberScore `json:"numbers"`
	// Hidden lists the parts no pixel of which is seen.
	Hidden []string `json:"hidden"`
	// MeanVisible is the mean over parts of visible pixels to those seen if the part stood alone.
	MeanVisible float64 `json:"mean_visible"`
	// Crossings counts pairs of leaders that cross; Overlaps balloons over one another or under another's leader;
	// OverParts balloons that lie on a part.
	Crossings int `json:"leader_crossings"`
	Overlaps  int `json:"balloon_overlaps"`
	OverParts int `json:"balloons_over_parts"`
	// Metrics are what was measured against targets, and Score is what the soft ones make, 0 to 100.
	Metrics []Metric `json:"metrics"`
	Score   float64  `json:"score"`
}

// Faults lists the hard metrics that a picture misses.
func (s Scores) Faults() []Metric {
	var out []Metric
	for _, m := range s.Metrics {
		if m.Hard && !m.Met {
			out = append(out, m)
		}
	}
	return out
}

// NumberScore is what was measured of the parts that share a number.
type NumberScore struct {
	Number  int     `json:"number"`
	Visible float64 `json:"visible"` // of the part seen best
	// InsideMM is how far inside its visible region the best place for a leader lies, on the sheet.
	InsideMM float64 `json:"inside_mm"`
	Balloon  bool    `json:"balloon"`
}

// scores measures the finished sheet.
func (sh *sheet) scores(name string) (Scores, error) {
	s := sh.stage
	b := sh.view.Back
	out := Scores{Picture: name, Scale: 1 / (sh.view.PixelMM * PixelsPerMM), Hidden: []string{},
		AzimuthDeg: round(math.Atan2(b.Y, b.X) * 180 / math.Pi), ElevationDeg: round(math.Asin(b.Z) * 180 / math.Pi)}
	if sh.regions.Pixels == nil {
		sh.regions = callout.Measure(sh.buffers, len(s.parts), 2)
	}
	visible := make([]int, len(s.parts)+2)
	for i := range sh.buffers.Packed {
		visible[sh.buffers.ID(i)]++
	}
	at := map[int]int{}
	for _, n := range s.numbers() {
		at[n] = len(out.Numbers)
		out.Numbers = append(out.Numbers, NumberScore{Number: n})
	}
	alone := make([]int, len(s.parts))
	errs := make([]error, len(s.parts))
	parallel(len(s.parts), func(i int) { alone[i], errs[i] = raster.Alone(sh.scene.Instances[i], sh.view) })
	for i, p := range s.parts {
		if errs[i] != nil {
			return out, errs[i]
		}
		f := min(1, float64(visible[i+1])/math.Max(1, super*super*float64(alone[i])))
		out.MeanVisible += f / float64(len(s.parts))
		if visible[i+1] == 0 {
			out.Hidden = append(out.Hidden, p.ID)
		}
		n := &out.Numbers[at[p.Number]]
		n.Visible = max(n.Visible, round(f))
		n.InsideMM = max(n.InsideMM, round(sh.regions.Inside[i+1]/(PixelsPerMM*super)))
	}
	out.MeanVisible = round(out.MeanVisible)
	sh.scoreBalloons(&out, at)
	var err error
	out.Metrics, out.Score, err = sh.measure(out)
	return out, err
}

func (sh *sheet) scoreBalloons(out *Scores, at map[int]int) {
	for _, b := range sh.marked {
		out.Numbers[at[sh.numbers[b.Mark]]].Balloon = true
		out.OverParts += sh.partsUnder(b.Centre, sh.radius)
	}
	out.Crossings = callout.Crossings(sh.marked)
	out.Overlaps = callout.Overlaps(sh.marked, sh.radius)
}

// partsUnder returns 1 when a balloon lies on a part, looking at the very pixels under it.
func (sh *sheet) partsUnder(c point, r float64) int {
	const stepMM = 0.2
	for y := -r; y <= r; y += stepMM {
		for x := -r; x <= r; x += stepMM {
			if i, ok := sh.buffer(pt(c.X+x, c.Y+y)); ok && x*x+y*y <= r*r {
				if id := sh.buffers.ID(i); id > 0 && id <= len(sh.stage.parts) {
					return 1
				}
			}
		}
	}
	return 0
}

// round keeps three places: enough to compare, and no noise.
func round(v float64) float64 { return math.Round(v*1000) / 1000 }
