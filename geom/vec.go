// Package geom holds the plain values that every other package measures with: vectors, boxes and poses.
//
// Lengths are millimetres and angles radians. All values are small structs passed by value; nothing here
// allocates but the JSON methods. Frames are right-handed throughout: the left-handed axes of a design file are
// turned round once, in assembly/solve, and nowhere else.
package geom

import (
	"encoding/json"
	"fmt"
	"math"
)

// Vec is a point or a direction, in millimetres.
type Vec struct{ X, Y, Z float64 }

// V is short for Vec{x, y, z}.
func V(x, y, z float64) Vec { return Vec{x, y, z} }

// The three unit axes.
var (
	AxisX = Vec{1, 0, 0}
	AxisY = Vec{0, 1, 0}
	AxisZ = Vec{0, 0, 1}
)

// Add returns v + w.
func (v Vec) Add(w Vec) Vec { return Vec{v.X + w.X, v.Y + w.Y, v.Z + w.Z} }

// Sub returns v - w.
func (v Vec) Sub(w Vec) Vec { return Vec{v.X - w.X, v.Y - w.Y, v.Z - w.Z} }

// Mul returns v times the number s.
func (v Vec) Mul(s float64) Vec { return Vec{v.X * s, v.Y * s, v.Z * s} }

// Neg returns -v.
func (v Vec) Neg() Vec { return Vec{-v.X, -v.Y, -v.Z} }

// Dot returns the scalar product.
func (v Vec) Dot(w Vec) float64 { return v.X*w.X + v.Y*w.Y + v.Z*w.Z }

// Cross returns the vector product.
func (v Vec) Cross(w Vec) Vec {
	return Vec{v.Y*w.Z - v.Z*w.Y, v.Z*w.X - v.X*w.Z, v.X*w.Y - v.Y*w.X}
}

// Len returns the length of v.
func (v Vec) Len() float64 { return math.Sqrt(v.Dot(v)) }

// Unit returns v scaled to length 1, or the zero vector when v is zero.
func (v Vec) Unit() Vec {
	l := v.Len()
	if l == 0 {
		return Vec{}
	}
	return v.Mul(1 / l)
}

// Lerp returns the point a fraction t of the way from v to w.
func (v Vec) Lerp(w Vec, t float64) Vec { return v.Add(w.Sub(v).Mul(t)) }

// Min returns the smaller of each coordinate.
func (v Vec) Min(w Vec) Vec {
	return Vec{math.Min(v.X, w.X), math.Min(v.Y, w.Y), math.Min(v.Z, w.Z)}
}

// Max returns the larger of each coordinate.
func (v Vec) Max(w Vec) Vec {
	return Vec{math.Max(v.X, w.X), math.Max(v.Y, w.Y), math.Max(v.Z, w.Z)}
}

// Near tells whether v and w are at most tol apart.
func (v Vec) Near(w Vec, tol float64) bool { return v.Sub(w).Len() <= tol }

// IsFinite tells whether no coordinate is infinite or not a number.
func (v Vec) IsFinite() bool {
	s := v.X + v.Y + v.Z
	return !math.IsNaN(s) && !math.IsInf(s, 0)
}

// Angle returns the angle between v and w, from 0 to pi. It stays accurate near 0 and pi, where an arc cosine
// would not.
func (v Vec) Angle(w Vec) float64 { return math.Atan2(v.Cross(w).Len(), v.Dot(w)) }

// Across returns a unit vector square to v: the coordinate axis that v is least along, made square.
func (v Vec) Across() Vec {
	a := AxisX
	x, y, z := math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z)
	if y < x {
		a, x = AxisY, y
	}
	if z < x {
		a = AxisZ
	}
	return v.Cross(a).Unit()
}

// MarshalJSON writes v as [x, y, z].
func (v Vec) MarshalJSON() ([]byte, error) { return json.Marshal([3]float64{v.X, v.Y, v.Z}) }

// UnmarshalJSON reads [x, y, z].
func (v *Vec) UnmarshalJSON(b []byte) error {
	var a []float64
	if err := json.Unmarshal(b, &a); err != nil {
		return err
	}
	if len(a) != 3 {
		return fmt.Errorf("a vector has 3 numbers, found %d", len(a))
	}
	*v = Vec{a[0], a[1], a[2]}
	return nil
}
