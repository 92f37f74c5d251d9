package joinery

import (
	"fmt"
	"math"

	"turnwise/assembly/standard"
	"turnwise/geom"
)

// isEnd tells whether a kind (or none asked for) ends a single pipe.
func isEnd(k standard.Kind) bool {
	return k == "" || isFoot(k)
}

// isFoot tells whether a kind can stand on a surface under a pipe.
func isFoot(k standard.Kind) bool {
	switch k {
	case standard.Flange, standard.Cap, standard.Glide, standard.Caster:
		return true
	}
	return false
}

// isStreet tells whether one end of a kind is male.
func isStreet(k standard.Kind) bool { return k == standard.StreetElbow || k == standard.StreetElbow45 }

// end chooses what ends a single pipe.
func (s Site) end(c *standard.Catalogue) (Choice, error) {
	kind := s.Ask.Kind
	if kind == "" {
		kind = standard.Cap
		if s.OnSurface {
			kind = standard.Flange
		}
	}
	if s.Avoid[kind] {
		return Choice{}, s.avoided(c, kind)
	}
	offDeg, err := s.square(kind)
	if err != nil {
		return Choice{}, err
	}
	f, ferr := c.Fitting(kind, []standard.Size{s.Lines[0].Size})
	if ferr != nil {
		return Choice{}, s.wrap(c, ferr)
	}
	return s.stand(c, f, offDeg)
}

// square checks that the run meets its surface square, and returns by how much it does not.
func (s Site) square(kind standard.Kind) (float64, error) {
	if !s.OnSurface || s.SurfaceOut.Len() < 0.5 {
		return 0, nil
	}
	off := degrees(s.Lines[0].Dir.Angle(s.SurfaceOut))
	if off <= SquareDeg {
		return off, nil
	}
	surface := s.surface()
	return 0, s.fault(FaultSurface,
		fmt.Sprintf("%s: %s meets the %s %.0f degrees from square; %s takes up to %.0f", s.Point, s.Lines[0].Name, surface, off, a(kind.Words()), SquareDeg),
		"bring it in square with an elbow before the "+surface)
}

// surface is the surface's name in messages.
func (s Site) surface() string {
	if s.SurfaceName == "" {
		return "surface"
	}
	return s.SurfaceName
}

// stand places what ends a pipe. The part's axis is the pipe's, so that the thread is straight; a surface that is not
// quite square to it takes the difference.
func (s Site) stand(c *standard.Catalogue, f standard.Fitting, offDeg float64) (Choice, error) {
	l := s.Lines[0]
	dir := l.Dir.Unit()
	onFoot := s.OnSurface || f.Kind != standard.Cap // a cap in the air goes over the pipe's end
	ch := Choice{Fitting: f, Pose: geom.Facing(geom.Vec{}, dir, upright(dir))}
	switch {
	case f.Kind == standard.Cap && onFoot:
		ch.Pose = geom.Facing(dir.Mul(f.Dims.MM(standard.DimHeight, "")), dir.Neg(), upright(dir))
	case f.Kind == standard.Cap:
		ch.Pose = geom.Facing(dir.Mul(f.Ports[0].Engagement.MM), dir.Neg(), upright(dir))
	default:
		ch.Surface = "face"
	}
	if s.Ask.PadMM > 0 && onFoot {
		pad, err := c.PadUnder(f, s.Ask.PadMM)
		if err != nil {
			return Choice{}, s.wrap(c, err)
		}
		ch.Pad = &Extra{Fitting: pad, Pose: geom.Facing(geom.Vec{}, dir, upright(dir)), Port: ch.Surface}
		ch.Pose = ch.Pose.Moved(dir.Mul(s.Ask.PadMM))
	} else if s.Ask.PadMM > 0 {
		return Choice{}, s.fault(FaultAsk, s.Point+": a pad needs something to lie on; the point is on no surface")
	}
	p, _ := f.Port("a")
	ch.Lines = []Use{ch.use(p, l)}
	ch.Notes = s.notes(f, 0)
	if offDeg > StraightDeg {
		ch.Notes = append(ch.Notes, Note{Code: "ANGLE", Deg: offDeg, Text: fmt.Sprintf(
			"%s: %s meets the surface %.1f degrees from square; shim the %s or let it give", s.Point, l.Name, offDeg, f.Kind.Words())})
	}
	return ch, nil
}

// alone is for a point without pipes: a caster under a board.
func (s Site) alone(c *standard.Catalogue) (Choice, error) {
	if s.Ask.Kind != standard.Caster || s.BoardUp.Len() < 0.5 {
		return Choice{}, s.fault(FaultAsk, s.Point+": no run comes here; only a caster on a board's underside needs none")
	}
	if s.Avoid[standard.Caster] {
		return Choice{}, s.avoided(c, standard.Caster)
	}
	f, err := c.BoardCaster()
	if err != nil {
		return Choice{}, s.wrap(c, err)
	}
	up := s.BoardUp.Unit()
	down := math.Max(0, f.Dims.MM(standard.DimHeight, ""))
	ch := Choice{Fitting: f, Pose: geom.Facing(up.Mul(-down), up, upright(up)), Surface: "face", Notes: s.notes(f, 0)}
	if s.Ask.PadMM > 0 {
		pad, err := c.PadUnder(f, s.Ask.PadMM)
		if err != nil {
			return Choice{}, s.wrap(c, err)
		}
		ch.Pad = &Extra{Fitting: pad, Pose: geom.Facing(up.Mul(-down-s.Ask.PadMM), up, upright(up)), Port: "face"}
	}
	return ch, nil
}
