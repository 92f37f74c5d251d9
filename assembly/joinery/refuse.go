package joinery

import (
	"fmt"
	"math"
	"strings"

	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/geom"
)

// noAngle is the fault of directions that no fitting has.
func (s Site) noAngle(c *standard.Catalogue) *Fault {
	found, expected := s.oddAngles(), "fittings turn 45 or 90"
	if found == "" {
		found, expected = s.angles(), "no fitting has these openings"
	}
	f := s.fault(FaultAngle, fmt.Sprintf("%s: %s; %s", s.Point, found, expected))
	f.Try = s.splits(c)
	if len(f.Try) == 0 && len(s.Lines) == 2 {
		f.Try = []string{"move a point so that the pipes run straight on, or turn 45 or 90"}
	}
	return f
}

// askedNoAngle is the same for a kind the design asks for.
func (s Site) askedNoAngle(c *standard.Catalogue, kind standard.Kind) *Fault {
	text := fmt.Sprintf("%s: %s; %s does not fit", s.Point, s.angles(), a(kind.Words()))
	if len(s.Lines) == 1 {
		text = fmt.Sprintf("%s: %s does not fit here", s.Point, a(kind.Words()))
	}
	if s.Ask.Along != "" && len(fits(kind, s.Lines)) > 0 {
		text = fmt.Sprintf("%s: %s cannot lie with its straight pair along %s", s.Point, a(kind.Words()), s.Ask.Along)
	}
	f := s.fault(FaultAsk, text)
	plain := s
	plain.Ask = Ask{}
	if s.Ask.Along != "" && len(fits(kind, s.Lines)) > 0 {
		f.Try = []string{"leave out along, or name another run"}
		return f
	}
	if ch, err := Choose(c, plain); err == nil && !ch.None {
		f.Try = []string{a(ch.Fitting.Kind.Words()) + " would"}
	}
	return f
}

// ways says for kinds that may be avoided what to do instead; the first of two is a change of parts, the second one of
// the drawing. Common practice, no source.
var ways = map[standard.Kind][2]string{
	standard.Cross:         {"two tees a close nipple apart would do", "let the two pairs pass one another and strap them"},
	standard.SideElbow:     {"an elbow and a tee a close nipple apart would do", "end one of the three runs at a point of its own, on another run"},
	standard.SideTee:       {"two tees a close nipple apart would do", "move one of the outlets to a point of its own along the run"},
	standard.Tee:           {"a cross with a plug would do", "end the run that comes in from the side on a flange"},
	standard.Elbow:         {"a tee with a plug would do", "end one of the runs on a flange"},
	standard.Elbow45:       {"two points with square elbows would do", "draw the run straight"},
	standard.Coupling:      {"a union would do", "draw it as one pipe, without the point between"},
	standard.Reducer:       {"a coupling with a bushing would do", "make both runs of one size"},
	standard.StreetElbow:   {"an elbow and a close nipple would do", "leave the run its pipe"},
	standard.StreetElbow45: {"a 45 degree elbow and a close nipple would do", "leave the run its pipe"},
	standard.Flange:        {"a cap or a glide under fittings would do", "end the run away from the surface"},
	standard.Cap:           {"write open under fittings to leave the end bare", "end the run on a surface or on another run"},
	standard.Caster:        {"a glide would do", "let the frame stand on flanges"},
	standard.Glide:         {"a cap would do", "let the frame stand on flanges"},
}

// avoided is the fault of a kind that is needed but not wanted, with two ways round.
func (s Site) avoided(c *standard.Catalogue, kind standard.Kind) *Fault {
	f := s.fault(FaultAvoid, fmt.Sprintf("%s: %s is needed here, and it is under avoid", s.Point, a(kind.Words())))
	w, ok := ways[kind]
	if !ok {
		w = [2]string{"take it out of avoid", "draw the runs apart"}
	}
	first := w[0]
	if t := s.splits(c); len(t) > 0 && len(s.Lines) > 2 {
		first = t[0]
	}
	f.Try = []string{first, w[1]}
	return f
}

// oddAngles lists the angles between the lines that no fitting turns, of two runs only the least; "" if there is none.
func (s Site) oddAngles() string {
	least := map[[2]string]float64{}
	angle := func(i, j int) ([2]string, float64) {
		return [2]string{s.Lines[i].Name, s.Lines[j].Name}, degrees(s.Lines[i].Dir.Angle(s.Lines[j].Dir))
	}
	for i := range s.Lines {
		for j := i + 1; j < len(s.Lines); j++ {
			pair, d := angle(i, j)
			if was, ok := least[pair]; !ok || d < was {
				least[pair] = d
			}
		}
	}
	told := map[[2]string]bool{}
	return s.anglesWhere(func(i, j int) bool {
		pair, d := angle(i, j)
		if told[pair] || d != least[pair] || math.Abs(d-math.Round(d/45)*45) <= SprungDeg {
			return false
		}
		told[pair] = true
		return true
	})
}

// angles lists the angles between the lines.
func (s Site) angles() string { return s.anglesWhere(func(i, j int) bool { return true }) }

// anglesWhere lists the angles between those pairs of lines that are wanted.
func (s Site) anglesWhere(wanted func(i, j int) bool) string {
	var out []string
	for i := range s.Lines {
		for j := i + 1; j < len(s.Lines); j++ {
			if !wanted(i, j) {
				continue
			}
			word := " degrees"
			if len(out) > 0 {
				word = ""
			}
			out = append(out, fmt.Sprintf("%s%s between %s and %s",
				degreesText(degrees(s.Lines[i].Dir.Angle(s.Lines[j].Dir))), word, s.Lines[i].Name, s.Lines[j].Name))
		}
	}
	return strings.Join(out, ", ")
}

// degreesText rounds to whole degrees, or to tenths where whole degrees would hide what is wrong.
func degreesText(d float64) string {
	if r := math.Round(d); math.Abs(d-r) < 0.05 || math.Abs(d-math.Round(d/45)*45) > 3 {
		return fmt.Sprintf("%.0f", r)
	}
	return fmt.Sprintf("%.1f", d)
}

// runs names the lines.
func (s Site) runs() string {
	var out []string
	for _, l := range s.Lines {
		if !strings.Contains(" "+strings.Join(out, " ")+" ", " "+l.Name+" ") {
			out = append(out, l.Name)
		}
	}
	return "runs here are " + strings.Join(out, ", ")
}

// sizesText lists the sizes of the lines.
func (s Site) sizesText() string {
	var out []string
	for _, l := range s.Lines {
		out = append(out, string(l.Size)+" ("+l.Name+")")
	}
	return strings.Join(out, ", ")
}

// numbers are small numbers in words.
var numbers = []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}

// count is a number of things in words: six pipes.
func count(n int, thing string) string {
	word := fmt.Sprint(n)
	if n < len(numbers) {
		word = numbers[n]
	}
	if n == 1 {
		return word + " " + thing
	}
	return word + " " + thing + "s"
}

// a puts the article before a part's name.
func a(name string) string {
	if strings.HasPrefix(name, "elbow") {
		return "an " + name
	}
	return "a " + name
}

// splits looks for two fittings a close nipple apart that take the lines between them: the nipple along one of the lines
// or square to it, some lines at either end. At most one is returned, with the distance between their centres.
func (s Site) splits(c *standard.Catalogue) []string {
	n := len(s.Lines)
	if n < 3 || n > 6 || s.half {
		return nil
	}
	for mask := 1; mask < 1<<n-1; mask++ {
		for _, d := range s.nippleDirs() {
			if t, ok := s.split(c, mask, d, s.Lines[0].Size); ok {
				return []string{t}
			}
		}
	}
	return nil
}

// nippleDirs are the directions a nipple between two fittings may take: along the lines, against them, and square to one
// of them towards another.
func (s Site) nippleDirs() []geom.Vec {
	var out []geom.Vec
	for _, l := range s.Lines {
		out = append(out, l.Dir, l.Dir.Neg())
	}
	for _, l := range s.Lines {
		for _, m := range s.Lines {
			if d := m.Dir.Sub(l.Dir.Mul(m.Dir.Dot(l.Dir))); d.Len() > math.Sin(SprungDeg*math.Pi/180) {
				out = append(out, d.Unit())
			}
		}
	}
	return out
}

// split tries one: lines of the mask at the first fitting, the others at the second, which lies along dir from it.
func (s Site) split(c *standard.Catalogue, mask int, dir geom.Vec, size standard.Size) (string, bool) {
	near, far := s.part(mask, true, dir, size), s.part(mask, false, dir.Neg(), size)
	one, err1 := Choose(c, near)
	two, err2 := Choose(c, far)
	if err1 != nil || err2 != nil || len(near.Lines) < 2 || len(far.Lines) < 2 {
		return "", false
	}
	apart := one.Lines[len(one.Lines)-1].TakeoutMM + two.Lines[len(two.Lines)-1].TakeoutMM +
		standard.CloseNipple(c.Family, size).MM
	return fmt.Sprintf("%s (%s) and %s (%s), a close nipple apart, would do: %s between their centres",
		a(one.Fitting.Kind.Words()), names(near.Lines), a(two.Fitting.Kind.Words()), names(far.Lines), s.length(c, apart)), true
}

// part is a site with some of the lines and the nipple as the last.
func (s Site) part(mask int, want bool, dir geom.Vec, size standard.Size) Site {
	out := Site{Point: s.Point, Units: s.Units, half: true, Avoid: map[standard.Kind]bool{standard.SideElbow: true, standard.SideTee: true}}
	for k, v := range s.Avoid {
		out.Avoid[k] = v
	}
	for i, l := range s.Lines {
		if (mask>>i&1 == 1) == want {
			out.Lines = append(out.Lines, l)
		}
	}
	out.Lines = append(out.Lines, Line{Name: "the nipple", Dir: dir, Size: size})
	return out
}

// names lists the runs at one end, without the nipple.
func names(lines []Line) string {
	var out []string
	for _, l := range lines[:len(lines)-1] {
		out = append(out, l.Name)
	}
	return strings.Join(out, ", ")
}

// length prints a length in the design's units.
func (s Site) length(c *standard.Catalogue, mm float64) string {
	inch := s.Units == units.InchSystem || s.Units == "" && c.Family != standard.BSPT
	if inch {
		return fmt.Sprintf("%.2f in", mm/float64(units.Inch))
	}
	return fmt.Sprintf("%.1f mm", mm)
}
