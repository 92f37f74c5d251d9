package standard

// Form is the form of a primitive.
type Form string

// The forms of primitives. All lengths in mm, all angles in degrees.
const (
	// Turned is a solid of revolution about the line from At along Dir: straight between the points of Profile, which
	// are (distance along Dir, radius) with distances rising (equal ones make a step), closed by flat ends.
	Turned Form = "turned"
	// Bend is a sector of a torus: the tube of Radius round an arc of radius BendRadius. The arc begins at At in the
	// direction Dir and turns towards Side by TurnDeg.
	Bend Form = "bend"
	// Ball is a ball of Radius about At.
	Ball Form = "ball"
	// Prism is a regular prism of Flats sides, Across flats, from At along Dir for Length; Side is the direction square
	// to Dir in which one flat faces.
	Prism Form = "prism"
)

// Primitive is one simple solid. Which fields count depends on Form.
type Primitive struct {
	Form       Form
	At         [3]float64
	Dir        [3]float64 // unit
	Side       [3]float64 // unit, square to Dir
	Profile    []Station  // Turned
	Radius     float64    // Bend, Ball
	BendRadius float64    // Bend
	TurnDeg    float64    // Bend
	Flats      int        // Prism: 4 or 6
	Across     float64    // Prism
	Length     float64    // Prism
	Thread     string     // Turned: the port whose thread this surface is, or ""; helical threads replace it
}

// Station is one point of a turned profile.
type Station struct{ S, R float64 }

// Solid is a part's metal: the union of Add less the union of Cut.
type Solid struct {
	Add []Primitive
	Cut []Primitive
}
