// Package enclosure turns readings of a wall, floor or ceiling into numbers: where the surface is at a place, which
// way it faces, and the material behind it as boxes.
//
// All coordinates are the design's own (x from the left wall, y out from the back wall, z up), so that a reading
// stays the number on the tape. Lengths are millimetres.
package enclosure

import (
	"errors"
	"math"
	"sort"

	"turnwise/geom"
)

// Axis is a coordinate of the design: 0 x, 1 y, 2 z.
type Axis int

// Reading is one measurement of a surface: Value along the surface's own axis, taken where the coordinates marked in
// On have the values in At.
type Reading struct {
	Value float64
	At    [3]float64
	On    [3]bool
}

// Face is one surface of a room, or the outer face of a cleat.
type Face struct {
	Axis Axis
	// Below tells that the material lies towards smaller coordinates (floor, left, back).
	Below    bool
	readings []Reading
	along    []Axis     // axes the value changes along: none, one, or two
	plane    [3]float64 // value = plane[0] + plane[1] u + plane[2] v when there are two
}

// Faults of a set of readings.
var (
	ErrNone     = errors.New("a surface needs at least one reading")
	ErrMixed    = errors.New("the readings of one surface are all taken along the same axes")
	ErrOwnAxis  = errors.New("a surface is read at places on the other two axes, not on its own")
	ErrTwice    = errors.New("two readings at one place")
	ErrPlane    = errors.New("readings at two axes need three places that do not lie on one line")
	ErrManyFlat = errors.New("several readings of one surface each need the place they were taken at")
)

// NewFace makes a surface from its readings. One reading without a place is a level surface. Readings along one axis
// are joined by straight lines, level beyond the outer ones. Readings along two axes give the plane with the least
// sum of squared misfits.
func NewFace(axis Axis, below bool, readings []Reading) (*Face, error) {
	if len(readings) == 0 {
		return nil, ErrNone
	}
	f := &Face{Axis: axis, Below: below, readings: append([]Reading(nil), readings...)}
	on := readings[0].On
	for _, r := range readings {
		if r.On != on {
			return nil, ErrMixed
		}
	}
	if on[axis] {
		return nil, ErrOwnAxis
	}
	for a := Axis(0); a < 3; a++ {
		if on[a] {
			f.along = append(f.along, a)
		}
	}
	switch len(f.along) {
	case 0:
		if len(readings) > 1 {
			return nil, ErrManyFlat
		}
	case 1:
		return f, f.sortReadings()
	case 2:
		return f, f.fitPlane()
	}
	return f, nil
}

func (f *Face) sortReadings() error {
	a := f.along[0]
	sort.SliceStable(f.readings, func(i, j int) bool { return f.readings[i].At[a] < f.readings[j].At[a] })
	for i := 1; i < len(f.readings); i++ {
		if f.readings[i].At[a] == f.readings[i-1].At[a] {
			return ErrTwice
		}
	}
	return nil
}

// minSpread is the least determinant, relative to the spread of the places, for which a plane is taken as fixed by
// its readings: below it the places lie on a line to within rounding.
const minSpread = 1e-9

// fitPlane solves the normal equations about the mean, which keeps them well conditioned.
func (f *Face) fitPlane() error {
	n := float64(len(f.readings))
	a, b := f.along[0], f.along[1]
	var mu, mv, mw float64
	for _, r := range f.readings {
		mu, mv, mw = mu+r.At[a]/n, mv+r.At[b]/n, mw+r.Value/n
	}
	var uu, uv, vv, uw, vw float64
	for _, r := range f.readings {
		u, v, w := r.At[a]-mu, r.At[b]-mv, r.Value-mw
		uu, uv, vv, uw, vw = uu+u*u, uv+u*v, vv+v*v, uw+u*w, vw+v*w
	}
	det := uu*vv - uv*uv
	if len(f.readings) < 3 || det <= minSpread*(uu+vv)*(uu+vv) {
		return ErrPlane
	}
	p := (uw*vv - vw*uv) / det
	q := (vw*uu - uw*uv) / det
	f.plane = [3]float64{mw - p*mu - q*mv, p, q}
	return nil
}

func coords(p geom.Vec) [3]float64 { return [3]float64{p.X, p.Y, p.Z} }

func vec(c [3]float64) geom.Vec { return geom.V(c[0], c[1], c[2]) }

// At returns the surface's coordinate at the place p; p's coordinate along the surface's own axis does not matter.
func (f *Face) At(p geom.Vec) float64 {
	c := coords(p)
	switch len(f.along) {
	case 1:
		return f.between(c[f.along[0]])
	case 2:
		return f.plane[0] + f.plane[1]*c[f.along[0]] + f.plane[2]*c[f.along[1]]
	}
	return f.readings[0].Value
}

func (f *Face) between(u float64) float64 {
	a, r := f.along[0], f.readings
	i := sort.Search(len(r), func(i int) bool { return r[i].At[a] >= u })
	if i == 0 {
		return r[0].Value
	}
	if i == len(r) {
		return r[len(r)-1].Value
	}
	t := (u - r[i-1].At[a]) / (r[i].At[a] - r[i-1].At[a])
	return r[i-1].Value + t*(r[i].Value-r[i-1].Value)
}

// IsBeyond tells whether p lies outside the places where the surface was read, so that At only carries on level.
func (f *Face) IsBeyond(p geom.Vec) bool {
	if len(f.along) != 1 || len(f.readings) < 2 {
		return false
	}
	u := coords(p)[f.along[0]]
	return u < f.readings[0].At[f.along[0]] || u > f.readings[len(f.readings)-1].At[f.along[0]]
}

// Least returns the smallest reading.
func (f *Face) Least() float64 { return f.extreme(math.Min) }

// Most returns the greatest reading.
func (f *Face) Most() float64 { return f.extreme(math.Max) }

func (f *Face) extreme(pick func(a, b float64) float64) float64 {
	v := f.readings[0].Value
	for _, r := range f.readings[1:] {
		v = pick(v, r.Value)
	}
	return v
}

// slopeStep is the half distance over which Normal measures the slope, in mm. It is short beside the distance of any
// two readings of a room.
const slopeStep = 0.5

// Normal returns the unit vector from the surface into the room at p, in the design's axes.
func (f *Face) Normal(p geom.Vec) geom.Vec {
	n := [3]float64{}
	n[f.Axis] = 1
	for _, a := range f.along {
		lo, hi := coords(p), coords(p)
		lo[a], hi[a] = lo[a]-slopeStep, hi[a]+slopeStep
		n[a] = -(f.At(vec(hi)) - f.At(vec(lo))) / (2 * slopeStep)
	}
	v := vec(n).Unit()
	if f.Below {
		return v
	}
	return v.Neg()
}
