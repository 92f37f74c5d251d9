// Package standard knows the parts that can be bought: kinds, nominal sizes, thread families, and the tables of
// threads, pipes, fittings, flanges, nipples, boards and woods. Every row of every table carries its source and how
// sure it is; every dimension of a part is a [Figure] with the same two.
//
// Ask a [Catalogue] for a part: [Catalogue.Fitting] and [Catalogue.Pipe] return its ports, its dimensions and its
// mass, after the design's own measurements have replaced the tables' values. [SolidOf] turns kind and dimensions
// into the exact solid; [Solid.Volume] is the volume of that same solid, so a mass and a mesh cannot drift apart.
//
// # The shape of every part
//
// [SolidOf] makes it; what follows says the same in words. All is in the part frame that package assembly lists by
// kind; every port's face is at Dir x reach from the origin. Metal is the union of Solid.Add less the union of
// Solid.Cut; pieces of one body reach 1 mm into each other where they join, so that no face lies inside. Threads are plain: cones (or cylinders) at the PITCH
// diameter, no helix. "dim.P" below is the dimension with the port's name after the dot.
//
//	male thread at port P (pipe end, street-elbow b, bushing a, plug a), s = distance from its end face inwards:
//	    diameter pitch-dia.P + taper.P x s   for 0 <= s <= thread-length.P
//	    then straight to od.P at s = thread-length.P + vanish.P, and od.P beyond; never more than od.P
//	    (on a pipe the smaller of both ends' diameters holds, so a close nipple is two cones that meet)
//	    taper 1/16; pitch-dia = E0 (npt), gauge-plane pitch diameter - gauge length / 16 (bspt)
//	    a running thread (Part.Running) has taper 0 and the pitch diameter of the coupling it carries
//	female thread at port P, t = depth from the face:
//	    diameter pitch-dia.P - taper.P x t   for 0 <= t <= thread-length.P, cut away
//	    taper 1/16 and pitch-dia = E1 (npt); taper 0 and the gauge-plane pitch diameter (bspt, parallel)
//	    thread-length is at least the engagement and one turn, so a pipe end never meets a shoulder
//	mating npt cones touch at hand-tight (L1) and overlap on the radius by (engagement - L1) / 32 all along.
//
//	leg P: cylinder body-od.P from the origin to the face, with a band: cylinder band-od.P over the last band-width.P;
//	    cut: the female thread, and the bore: cylinder bore.P from the origin to the end of the thread
//	    (bore is often wider than the thread: the chamber behind it)
//
//	    legs that meet at an angle begin in a ball each, and the concave corners between their bodies are rounded by a ball of
//	    radius FilletMM that is rolled along them
//
//	tee, cross, side-tee     a leg per port
//	side-elbow               a leg per port, cut by a ball of bore.a at the origin
//	elbow, elbow45           two legs that begin where the bend ends, joined by a bend: a sector of a torus whose centre
//	                         line has radius bend-radius and touches both port axes at bend-radius x tan(turn / 2) from
//	                         the origin (turn 90 or 45 degrees); outside diameter body-od.a, inside bore.a
//	                         where bend-radius is 0 (reducing elbows, street elbows): as side-elbow, with two legs
//	street-elbow(45)         the same, but leg b is a male thread: od.b out to the face, bore.b right through it; without a
//	                         bend it begins as a shank, wider by ShankMM all round, which ends just beyond what is rounded
//	coupling, right-left, long-screw, reducer
//	                         two legs along Z that meet at the origin (mid-length)
//	cap                      one leg from z = 0 (mouth) to height; bore.a from the thread's end to height - wall
//	union half a             leg a, from the seat plane z = 0 to -reach.a, and a collar: cylinder collar-od, z
//	                         -collar-length..0; cut: the seat, a cone of 45 degrees that opens upwards
//	union half b             leg b, from just above the seat plane z = 0 to reach.b, a shoulder: cylinder collar-od, up to z =
//	                         shoulder, and from there down through z = 0 the cone that fits the seat of half a. In both halves the bore goes on through the seat.
//	                         the nut, a body of its own: hexagon, across flats, z -nut-over..nut-back, less cylinder nut-bore up
//	                         to just behind the shoulder, and less a hole round the leg in the lip from there on
//	flange                   plate: cylinder across, z 0..plate; hub: cylinder hub-od, z 0..height; the corner between them
//	                         rounded by FilletMM, or less where screws need the room; cut: the female
//	                         thread from the mouth at z = height right through to z = 0, and holes x straight holes of
//	                         diameter hole, right through the plate, hole k (from 0) on the circle at the angle
//	                         (k + 1/2) x 360 / holes from X; countersunk by 90 degrees from the top of the plate where
//	                         countersink gives a diameter
//	plug                     male thread from z = -reach.a up to thread-length.a - reach.a; square head, across flats,
//	                         head high, on top of it. Solid.
//	bushing                  hexagonal head, across flats, z -head..0; male thread below it down to z = -length;
//	                         cut: female thread b from z = 0, and bore.b from its end right through
//	glide                    cylinder across, z 0..height; stem: cylinder stem-od, stem-length long, above (into the pipe)
//	caster                   wheel: cylinder wheel, wheel-width long about X at z = wheel / 2; housing: cylinder hub-od from
//	                         z = wheel / 2 into the plate; plate: cylinder across, plate thick, up to height; stem as
//	                         glide (length 0 when it is screwed to a board)
//	strap                    a U of sheet metal, wall thick and band-width wide, over the pipe od; ears on the board at
//	                         x = od / 2, across from tip to tip; two holes of diameter hole, circle apart
//	pad                      cylinder across, z 0..height
//	pipe                     od, two male threads, less cylinder bore right through
//
// Prisms (square, hexagon) have a flat at +X: across flats is measured along X.
package standard
