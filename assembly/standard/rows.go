package standard

// ThreadRow is one size of a taper pipe thread. Lengths and diameters in mm.
type ThreadRow struct {
	Family         Family
	Size           Size
	TPI            float64
	Pitch          Figure
	Major          Figure // npt: outside diameter of the pipe; bspt: major diameter at the gauge plane
	E0             Figure // pitch diameter at the end of the pipe
	E1             Figure // pitch diameter at the face of the fitting (bspt: at the gauge plane)
	L1             Figure // hand-tight engagement (bspt: gauge length)
	L2             Figure // effective external thread (bspt: useful thread)
	L3             Figure // wrench make-up past L1 (bspt: wrenching allowance)
	V              Figure // vanish cone
	Normal         Figure // normal engagement (bspt: mean engagement of EN 10242)
	HandTurns      Figure // turns by hand (a count)
	FlankDeg       float64
	ToleranceTurns float64 // turns, plus or minus, of one thread
}

// PipeRow is one size of pipe. Lengths in mm, mass in kg/m.
type PipeRow struct {
	Family   Family
	Size     Size
	Series   string // "schedule 40", "medium", "heavy"
	OD, Wall Figure
	Mass     Figure // kg per metre, from the table (MM holds kg/m)
	YieldMPa Figure // MM holds MPa
}

// BoreMM is the inside diameter.
func (r PipeRow) BoreMM() float64 { return r.OD.MM - 2*r.Wall.MM }

// WoodRow is one material for boards. Ranges run from Low to High.
type WoodRow struct {
	Name                  string
	Panel                 bool
	SpecificGravity       Range
	DensityKGM3           Range
	ElasticityMPa, MORMPa Range
	Source                string
	Grade                 Grade
}

// Range is a span of values.
type Range struct{ Low, High float64 }

// Mid is the middle of the range.
func (r Range) Mid() float64 { return (r.Low + r.High) / 2 }
