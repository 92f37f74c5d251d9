package unite

import (
	"math"
	"math/big"

	"turnwise/geom"
)

// orientBound is the error of det in units of the sum of the absolute values of its products: three roundings of
// differences and four of products and sums, each half of 2^-52, with room to spare (after J. R. Shewchuk, "Adaptive
// precision floating-point arithmetic", 1997, who has 7 units of 2^-53).
const orientBound = 1e-15

// orient is the exact sign of the volume of the tetrahedron (a, b, c, d): +1 when d lies on the side from which a, b, c
// run anticlockwise.
func orient(a, b, c, d geom.Vec) int {
	u, v, w := b.Sub(a), c.Sub(a), d.Sub(a)
	xy, yx := u.X*v.Y, u.Y*v.X
	yz, zy := u.Y*v.Z, u.Z*v.Y
	zx, xz := u.Z*v.X, u.X*v.Z
	det := (yz-zy)*w.X + (zx-xz)*w.Y + (xy-yx)*w.Z
	size := (math.Abs(yz)+math.Abs(zy))*math.Abs(w.X) + (math.Abs(zx)+math.Abs(xz))*math.Abs(w.Y) + (math.Abs(xy)+math.Abs(yx))*math.Abs(w.Z)
	switch {
	case det > orientBound*size:
		return 1
	case det < -orientBound*size:
		return -1
	}
	return orientExact(a, b, c, d)
}

// orientExact works the sign out in fractions.
func orientExact(a, b, c, d geom.Vec) int {
	sub := func(p geom.Vec) [3]*big.Rat {
		diff := func(x, y float64) *big.Rat {
			r, s := new(big.Rat), new(big.Rat)
			r.SetFloat64(x)
			s.SetFloat64(y)
			return r.Sub(r, s)
		}
		return [3]*big.Rat{diff(p.X, a.X), diff(p.Y, a.Y), diff(p.Z, a.Z)}
	}
	u, v, w := sub(b), sub(c), sub(d)
	mul := func(x, y *big.Rat) *big.Rat { return new(big.Rat).Mul(x, y) }
	sum := new(big.Rat)
	for k := range 3 {
		i, j := (k+1)%3, (k+2)%3
		minor := new(big.Rat).Sub(mul(u[i], v[j]), mul(u[j], v[i]))
		sum.Add(sum, mul(minor, w[k]))
	}
	return sum.Sign()
}
