// Package render holds what the drawing engines share: a scene of posed shapes with ids, a camera, a view, and the
// buffers a scene is drawn into. It knows nothing of pipes: ids are plain numbers, and who makes the scene keeps the
// list of what they stand for.
//
// Lengths in the scene are millimetres in a right-handed frame with z up. Lengths on the sheet are millimetres of
// paper and say so in their names.
package render

import (
	"errors"
	"fmt"
	"math"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// MaxID is the greatest id an instance can have: 12 bits of a packed pixel.
const MaxID = 1<<idBits - 1

// Colour is a plain sRGB colour, 0 to 255 each.
type Colour struct{ R, G, B uint8 }

// Luma returns the brightness of c as a greyscale print shows it, 0 to 1 (the weights of Rec. ITU-R BT.601).
func (c Colour) Luma() float64 {
	return (0.299*float64(c.R) + 0.587*float64(c.G) + 0.114*float64(c.B)) / 255
}

// Lerp returns the colour a fraction t of the way from c to d.
func (c Colour) Lerp(d Colour, t float64) Colour {
	mix := func(a, b uint8) uint8 { return uint8(math.Round(float64(a) + (float64(b)-float64(a))*t)) }
	return Colour{mix(c.R, d.R), mix(c.G, d.G), mix(c.B, d.B)}
}

// Tone is how a material is filled: the colour of a face that looks into the light, and of one that looks away.
type Tone struct {
	Light, Shade Colour
}

// Shape is a mesh made ready for drawing, shared by all its instances. Make it with NewShape.
type Shape struct {
	Mesh *mesh.Mesh
	Box  geom.Box
	// Normals are unit vectors at the three corners of each triangle, smooth over soft edges.
	Normals [][3][3]float32
}

// Instance is a shape at a place.
type Instance struct {
	ID    int // 1 to MaxID; instances may share one and are then drawn as one body
	Shape *Shape
	Pose  geom.Pose
	Tone  Tone
	// Ground marks floor and walls: they are drawn pale, with thin lines and no halo, and hide nothing that counts.
	Ground bool
}

// Scene is all that is drawn.
type Scene struct {
	Instances []Instance
}

// Errors of a scene that cannot be drawn.
var (
	ErrEmpty = errors.New("nothing to draw")
	ErrID    = fmt.Errorf("ids of a scene go from 1 to %d", MaxID)
)

// Check tells whether the scene can be drawn.
func (s Scene) Check() error {
	if len(s.Instances) == 0 {
		return ErrEmpty
	}
	for _, in := range s.Instances {
		if in.ID < 1 || in.ID > MaxID {
			return fmt.Errorf("id %d: %w", in.ID, ErrID)
		}
		if in.Shape == nil {
			return fmt.Errorf("id %d has no shape", in.ID)
		}
		if b := in.Pose.Box(in.Shape.Box); !b.IsEmpty() && !(b.Min.IsFinite() && b.Max.IsFinite()) {
			return fmt.Errorf("id %d is not at a finite place", in.ID)
		}
	}
	return nil
}

// Tones returns the tone of each id, indexed by id, and whether it is ground.
func (s Scene) Tones() (tones []Tone, ground []bool) {
	top := 0
	for _, in := range s.Instances {
		top = max(top, in.ID)
	}
	tones, ground = make([]Tone, top+1), make([]bool, top+1)
	for _, in := range s.Instances {
		tones[in.ID], ground[in.ID] = in.Tone, in.Ground
	}
	return tones, ground
}
