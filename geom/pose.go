package geom

import "math"

// Pose places a part: where its own frame lies in another one. X, Y and Z are the part's axes seen from outside;
// they are unit vectors, square to one another and right-handed.
type Pose struct {
	Origin Vec `json:"origin_mm"`
	X      Vec `json:"x"`
	Y      Vec `json:"y"`
	Z      Vec `json:"z"`
}

// Identity is the pose of a part that is drawn where it stands.
func Identity() Pose { return Pose{Vec{}, AxisX, AxisY, AxisZ} }

// At is the identity moved to p.
func At(p Vec) Pose { return Pose{p, AxisX, AxisY, AxisZ} }

// Facing returns the pose at origin whose Z is along z and whose X is as near to x as squareness allows. When x is
// along z, or zero, any X square to z is taken, the same one each time.
func Facing(origin, z, x Vec) Pose {
	z = z.Unit()
	x = x.Sub(z.Mul(x.Dot(z)))
	if x.Len() < 1e-9 {
		x = z.Across()
	}
	x = x.Unit()
	return Pose{origin, x, z.Cross(x), z}
}

// Apply takes a point of the part frame to the outer frame.
func (p Pose) Apply(v Vec) Vec { return p.Origin.Add(p.Rotate(v)) }

// Rotate takes a direction of the part frame to the outer frame.
func (p Pose) Rotate(v Vec) Vec { return p.X.Mul(v.X).Add(p.Y.Mul(v.Y)).Add(p.Z.Mul(v.Z)) }

// Local takes a point of the outer frame to the part frame.
func (p Pose) Local(v Vec) Vec { return p.Unrotate(v.Sub(p.Origin)) }

// Unrotate takes a direction of the outer frame to the part frame.
func (p Pose) Unrotate(v Vec) Vec { return Vec{v.Dot(p.X), v.Dot(p.Y), v.Dot(p.Z)} }

// Compose returns the pose that applies q first, then p.
func (p Pose) Compose(q Pose) Pose {
	return Pose{p.Apply(q.Origin), p.Rotate(q.X), p.Rotate(q.Y), p.Rotate(q.Z)}
}

// Inverse returns the pose that undoes p.
func (p Pose) Inverse() Pose {
	return Pose{p.Unrotate(p.Origin.Neg()), p.Unrotate(AxisX), p.Unrotate(AxisY), p.Unrotate(AxisZ)}
}

// Moved returns p shifted by d.
func (p Pose) Moved(d Vec) Pose {
	p.Origin = p.Origin.Add(d)
	return p
}

// Turned returns p turned about the line through at along the unit vector dir by angle (radians, right-handed) and
// shifted along dir by advance: a screw motion.
func (p Pose) Turned(at, dir Vec, angle, advance float64) Pose {
	turn := func(v Vec) Vec { return turnVec(v, dir, angle) }
	return Pose{
		Origin: at.Add(turn(p.Origin.Sub(at))).Add(dir.Mul(advance)),
		X:      turn(p.X), Y: turn(p.Y), Z: turn(p.Z),
	}
}

// turnVec is Rodrigues' rotation formula.
func turnVec(v, dir Vec, angle float64) Vec {
	s, c := math.Sincos(angle)
	return v.Mul(c).Add(dir.Cross(v).Mul(s)).Add(dir.Mul(dir.Dot(v) * (1 - c)))
}

// IsRigid tells whether the axes are unit, square and right-handed to within tol.
func (p Pose) IsRigid(tol float64) bool {
	return math.Abs(p.X.Len()-1) <= tol && math.Abs(p.Y.Len()-1) <= tol && p.X.Cross(p.Y).Near(p.Z, tol) &&
		math.Abs(p.X.Dot(p.Y)) <= tol
}

// Box returns the bounding box, in the outer frame, of a box in the part frame.
func (p Pose) Box(b Box) Box {
	out := EmptyBox()
	if b.IsEmpty() {
		return out
	}
	for _, c := range b.Corners() {
		out = out.Include(p.Apply(c))
	}
	return out
}
