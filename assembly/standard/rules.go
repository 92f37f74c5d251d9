package standard

// Rules for what no table at hand has. Each is this program's own and of low confidence: measure the part and say so
// in the design. Lengths in mm.
const (
	// Feet and pads, middle of what is commonly sold.
	GlideHeightMM  = 10.0 // common practice, no source
	CasterHeightMM = 75.0 // a 50 mm wheel with its fork; common practice, no source
	CasterRatedN   = 350  // a 50 mm wheel carries about 35 kg; common practice, no source
	PadAcrossMM    = 60.0 // a pad under a foot when nothing says how wide
	glideRimMM     = 3.0  // how far a glide's head stands out beyond the pipe, all round
	stemLengthMM   = 25.0 // of glides and casters in the pipe
	stemPlayMM     = 0.2  // diameter of the stem below the inside of the pipe
	casterWheel    = 0.68 // wheel diameter per height
	casterWidth    = 0.30 // wheel width per height
	casterHousing  = 0.45 // housing diameter per height
	casterPlateMM  = 3.0  // thickness of the plate
	casterPlate    = 0.80 // diameter of the screwed plate per height

	// A pipe strap of sheet metal with one screw hole in each ear.
	StrapWidthMM     = 20.0
	StrapThicknessMM = 1.5
	StrapEarMM       = 16.0
	StrapHoleMM      = 5.0

	// Fittings.
	bendMarginMM   = 0.4  // how much the bend's radius exceeds the body's, so that the inner side is not a point
	leastLandMM    = 0.3  // metal left under and beside a countersink
	capHeadroomMM  = 5.0  // cap: height beyond engagement, one turn and wall; fits the caps of 1/2 and 3/4
	backNutPitches = 4.0  // thickness of a back nut in pitches
	bushingHead38  = 4.1  // head of a 3/8 bushing, one step below the 1/2 row (0.19 in)
	hexOverOD      = 1.08 // hexagon across flats of a bushing per pipe outside diameter
	flangeQuarter  = 0.85 // 1/4 floor flange per 3/8 one
	collarOverBody = 1.12 // union: collar diameter per body diameter
	nutPlayMM      = 0.5  // union: nut over collar, shoulder and tail, on the diameter; half of it behind the shoulder
	nutWalls       = 3.0  // union: across flats beyond the nut's bore, in walls
	nutOverLength  = 0.18 // union: nut beyond the seat per length of the union
	nutBackLength  = 0.10 // union: nut behind the seat per length of the union

	shoulderOfBack = 0.5  // union: shoulder under the nut's lip per length of the nut behind the seat
	seatOuter      = 0.85 // union: the cone of the seat reaches, at 45 degrees, over this part of the wall from the bore
	seatInner      = 0.25 // ... down to this part
	seatFreeMM     = 0.4  // union: how far half b keeps off half a above the seat, and the seat of half a goes on below the cone of half b

	// Corners of castings. No standard gives their radii; common practice is about the thickness of the wall.
	FilletMM      = 3.0 // where barrels meet, between hub and plate of a flange, at the shoulder of a street fitting
	leastFilletMM = 0.8 // smaller ones are left out
	ShankMM       = 0.8 // how far a cast shank stands over the thread that it carries
	besideMM      = 0.4 // what is left of a flat face beside a fillet

	// Densities of the lesser materials, kg/mm3, from memory.
	plasticDensity = 1.14e-6 // nylon
	rubberDensity  = 1.2e-6
	casterDensity  = 3.5e-6 // steel fork and plastic wheel, mean over the solid drawn here
)

// Texts of the rules, as sources of the figures made with them.
const (
	ruleENBody      = "no EN 10242 value: the B16.3 Class 150 value of the same nominal size"
	ruleBody        = "body = inside diameter F and twice the metal thickness G of B16.3"
	ruleBore        = "middle of the least and greatest inside diameter F of B16.3 Class 150, from memory"
	ruleSideTee     = "no standard row: centre to end of the tee of the same size"
	ruleSideElbow   = "no standard row: centre to end of the 90 degree elbow of the same size"
	ruleScaled45    = "no table row: the 3/8 row in proportion of the 90 degree elbows"
	ruleSpecialLen  = "no table row: length of the coupling of the same size"
	ruleUnionLen    = "no table row: the 1/2 union in proportion of the couplings"
	ruleUnionBody   = "no table: collar, shoulder and nut in proportion to body and length"
	ruleMaleBore    = "no table: inside diameter of the pipe of the same size"
	ruleSmallBore   = "no table: the smaller end's inside diameter right through"
	ruleThreadLen   = "engagement and one turn, so that a pipe end never meets a shoulder"
	ruleKnuckle     = "no table: no bend, the legs meet at a ball as wide as the body"
	ruleCap         = "no table row: engagement, one turn, wall and 5 mm"
	ruleBushing     = "no table row or shorter than the engagement: engagement and half a turn"
	ruleBushingHd   = "no table row: head of the next size"
	ruleHex         = "no table: hexagon 8 % wider than the pipe"
	ruleHub         = "no standard: hub as wide as the band of a B16.3 fitting"
	ruleFlange14    = "no table row: 85 % of the 3/8 floor flange"
	ruleFlangeMid   = "middle of the range: "
	ruleGlide       = "no standard: usual height of a glide, common practice"
	ruleCaster      = "no standard: usual height of a caster with a 50 mm wheel, common practice"
	ruleFoot        = "no standard: in proportion to the height or to the pipe"
	rulePad         = "as the design gives it"
	ruleStrap       = "no standard: sheet-metal pipe strap, common practice"
	ruleBackNut     = "no table: four pitches"
	rulePlugCorners = "no EN 10242 value: the square whose corners just stay within the crests of the thread's small end"
	ruleENPlug      = "no EN 10242 row: ASME B16.14 value of the same nominal size"
	ruleParallel    = "ISO 7-1: internal thread Rp, parallel"
	ruleTaper       = "taper 1 in 16 on the diameter"
	ruleRunning     = "running thread, parallel"
	measuredSource  = "given in the design"
)
