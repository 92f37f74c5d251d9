package solidify

import (
	"errors"
	"fmt"
	"math"

	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

func vec(a [3]float64) geom.Vec { return geom.V(a[0], a[1], a[2]) }

// body makes the solid that primitives describe, with what is loose about it.
func body(shape standard.Solid) (sdf.Leafed, error) {
	whole, err := oneBody(shape)
	if err != nil || len(shape.Loose) == 0 {
		return whole, err
	}
	pieces := []sdf.Leafed{whole}
	for _, l := range shape.Loose {
		b, err := oneBody(l)
		if err != nil {
			return nil, err
		}
		pieces = append(pieces, b)
	}
	return sdf.Apart(pieces...), nil
}

// oneBody makes the solid of one body. Turned primitives about one line become one profile: the distance is
// then exact along that line, and no surface inside the metal is left. When all metal is about one line, the cuts
// about it go into the profile too.
func oneBody(shape standard.Solid) (sdf.Leafed, error) {
	adds, cuts := gather(shape.Add), gather(shape.Cut)
	whole, err := shapes(adds.rest)
	if err != nil {
		return nil, err
	}
	single := len(adds.spindles) == 1 && len(whole) == 0
	for _, a := range adds.spindles {
		var bore []profile
		if single {
			bore = cuts.take(a.line)
		}
		whole = append(whole, a.turn(bore))
	}
	tools, err := shapes(cuts.rest)
	if err != nil {
		return nil, err
	}
	for _, c := range cuts.spindles {
		tools = append(tools, c.turn(nil))
	}
	for _, s := range append(append([]sdf.Solid(nil), whole...), tools...) {
		if s.Bounds().IsEmpty() {
			return nil, errors.New("its dimensions make no body: a wall or a length would be less than nothing")
		}
	}
	if len(whole) == 0 {
		return nil, errors.New("it has no material")
	}
	metal := sdf.Join(whole...)
	if rims := adds.rims(shape.Add); len(rims) > 0 {
		metal = sdf.Marked(metal, append(sdf.Features(metal), rims...))
	}
	return sdf.Cut(metal, tools...), nil
}

// rims are the edges where a turned body comes out of the flat end of a star's rod: rings so narrow that a mesher has to be
// told of them.
func (g gathered) rims(ps []standard.Primitive) []sdf.Feature {
	var out []sdf.Feature
	for _, p := range ps {
		for _, r := range p.Rods {
			l := line{vec(p.At), vec(r.Dir)}
			end := l.at.Add(l.dir.Mul(r.Length))
			for _, q := range g.find(l) {
				if radius, _, ok := q.on(r.Length, r.Length+sameMM); ok && radius < r.Radius {
					out = append(out, sdf.Feature{At: end, To: end, Dir: l.dir, Radius: radius})
				}
			}
		}
	}
	return out
}

// gathered are primitives sorted: the turned ones by line, the others as they are.
type gathered struct {
	spindles []spindle
	rest     []standard.Primitive
}

func gather(ps []standard.Primitive) gathered {
	var g gathered
	for _, p := range ps {
		if p.Form != standard.Turned {
			g.rest = append(g.rest, p)
			continue
		}
		g.mount(line{vec(p.At), vec(p.Dir)}, p.Profile)
	}
	return g
}

// mount puts a profile about l on the spindle that has that line, or on a new one.
func (g *gathered) mount(l line, stations []standard.Station) {
	for i := range g.spindles {
		if on, ok := g.spindles[i].line.carry(l, stations); ok {
			g.spindles[i].profiles = append(g.spindles[i].profiles, on)
			return
		}
	}
	g.spindles = append(g.spindles, spindle{l, []profile{stations}})
}

// take removes the spindle on a line and returns its profiles, measured along that line.
func (g *gathered) take(l line) []profile {
	var out []profile
	rest := g.spindles[:0:0]
	for _, s := range g.spindles {
		taken := false
		for _, p := range s.profiles {
			if on, ok := l.carry(s.line, p); ok {
				out, taken = append(out, on), true
			}
		}
		if !taken {
			rest = append(rest, s)
		}
	}
	g.spindles = rest
	return out
}

// find returns the profiles on a line, measured along it.
func (g gathered) find(l line) []profile { return g.take(l) }

// shapes makes the solids of primitives that are not turned.
func shapes(ps []standard.Primitive) ([]sdf.Solid, error) {
	var out []sdf.Solid
	for _, p := range ps {
		at, dir, side := vec(p.At), vec(p.Dir), vec(p.Side)
		switch p.Form {
		case standard.Bend:
			// the arc begins at At; the lead lies behind it
			out = append(out, sdf.Bend(at, dir, side, p.BendRadius, p.Radius, p.TurnDeg*math.Pi/180, p.Lead, p.Trail))
		case standard.Ball:
			out = append(out, sdf.Sphere(at, p.Radius))
		case standard.Prism:
			out = append(out, sdf.Prism(at, dir, side, p.Length, p.Across, p.Flats))
		case standard.Star:
			var rods []sdf.Rod
			for _, r := range p.Rods {
				rods = append(rods, sdf.Rod{Dir: vec(r.Dir), Length: r.Length, Radius: r.Radius})
			}
			out = append(out, sdf.Star(at, p.Fillet, rods...))
		case standard.Flare:
			f := p.Fillet
			ring := sdf.Cylinder(at.Sub(dir.Mul(beyondMM)), dir, beyondMM+f, p.Radius+f)
			top := at.Add(dir.Mul(f))
			flare := sdf.Cut(ring, sdf.Torus(top, dir, p.Radius+f, f))
			out = append(out, sdf.Marked(flare, []sdf.Feature{{At: top, To: top, Dir: dir, Radius: p.Radius}}))
		case standard.Block:
			h := vec(p.Half)
			out = append(out, sdf.Move(sdf.Box(geom.Box{Min: h.Neg(), Max: h}), geom.Pose{Origin: at, X: dir, Y: side, Z: dir.Cross(side)}))
		default:
			return nil, fmt.Errorf("no solid for the form %q", p.Form)
		}
	}
	return out, nil
}
