// Package isosurface turns a solid, given by its signed distance, into a closed triangle mesh.
//
// # What is promised
//
// A mesh that Mesh returns without an error has passed mesh.Check: after rounding to 32-bit floats every edge is
// shared by exactly two triangles in opposite directions, every vertex has one fan, no triangle is without area, none
// cuts through another, and the outside is outward. The bytes are the same whatever the number of cores.
//
// Unless the Report says otherwise, samples of every triangle lie within the tolerance of the surface (MaxErrorMM), points of
// the surface near every cell of the grid lie within the tolerance of the mesh (MissedMM), no triangle faces inwards (Folded)
// and none is lower than a tenth of the tolerance (Low). Edges of the solid are chains of mesh edges with their vertices on
// both surfaces, so they stay sharp. A straight barrel or plate costs no triangles along its length.
//
// # What is not
//
// Walls, slots and tips thinner than the tolerance may be lost: that is where surfaces graze one another. Report.ThinMM tells
// how far such surface is off the mesh. Thicker ones are looked for between the nodes as well, and where they were missed the
// grid is made denser; when no grid tried shows them, the sound mesh that is off least is returned, and Report.MissedMM,
// Report.MaxErrorMM and Report.Rejected tell. A triangle within the tolerance of two faces may still be farther off the edge
// between them, twice as far where they make 60 degrees. The last way out, by tetrahedra, cuts sharp edges off. Surfaces that no sdf leaf type describes are taken to curve like a ball of an eighth of the
// body's diagonal. Helical threads would need cells of hundredths of a millimetre: see step 0 for a solid that names them.
//
// # Steps
//
//  0. A solid made by sdf.Threaded is meshed as its plain body; each thread is then meshed for itself, in (angle, way
//     along the section), and put in the place of the plain surface between two circles. A solid of revolution is meshed from its profile, without a grid: a ring of vertices for every corner, a strip
//     for every side. It passes the same checks.
//  1. Planes. Each axis has planes of its own: narrow cells where something curves, in the width of a chord whose
//     height is the tolerance; one cell round every face plane and edge; one long cell wherever nothing changes. No face plane lies on
//     a grid plane. The axes have different offsets, so that bodies alike along two axes do not meet the grid's diagonals.
//  2. Signs. Blocks of nodes are divided until the distance at the middle exceeds half the diagonal. 0 is outside.
//  3. Crossings of the grid edges, each with the leaf (smooth surface) that it lies on.
//  4. Rings. In each cell the crossings are linked through its faces; on a face with four of them the sign at its
//     middle decides, which is the same for both cells. Two rings that share a face twice would make a doubled edge:
//     the pairing of that face is turned round.
//  5. Vertices, one for each ring: on its one leaf, on the edge of its two, at the corner of its three or more, by
//     Gauss-Newton steps from where the ring passes from leaf to leaf. A strip narrower than a cell gets two vertices, one on either edge.
//  6. Polygons, one for each crossing, between the vertices of the four cells about it. Its corners all lie on the leaf
//     of the crossing, which makes it belong to that leaf. Edges of the solid thus become mesh edges by themselves:
//     nothing has to be searched or flipped.
//  7. Untangling: vertices and diagonals move where a polygon folds, next to edges that run close to a side of a cell.
//  8. Refining: mesh edges that stand off their leaves are halved.
//  9. Making lean: an end of a mesh edge moves onto the other, shortest first, as long as leaves, topology, facing and
//     tolerance allow. First only what costs nothing: what is left of a barrel are straight strips. Vertices never
//     leave the surface.
//     Zones of the mesh are worked on at the same time.
//  10. Checks. On failure the grid is moved once. Then cells in trouble are made hard: all their triangles stay in the
//     cell, as a cone over the line in which the surface crosses the cell's sides. Such cones cannot cross. A mesh with hard
//     cells is made lean one move at a time, and no move is made whose triangles would cut through others. What is left wrong
//     with single triangles, that are low, face inwards or stand off too far, is cured by small moves that make their
//     surroundings better. Then a grid with cells hardly wider than the tolerance all over is taken, if that is not too large.
//     Where the mesh still is at fault the grid is made denser, there only, and so on. Marching tetrahedra come last.
//
// # Why it is closed
//
// Steps 4 and 6 make the dual of a closed surface of polygons: each link is in the two rings of its face's cells, and
// becomes one mesh edge between two polygons. What follows moves vertices, or keeps the link condition.
//
// # Files
//
//	isosurface.go   Mesh, its options and report, the order of attempts, acceptance
//	pieces.go       bodies that do not touch
//	turned.go       solids of revolution
//	thread.go       a thread as a strip
//	graft.go        strips in the place of plain surfaces
//	planes.go       grid planes
//	grid.go         signs and crossings, work in parallel over fixed slabs
//	rings.go        links, rings and doubled edges
//	place.go        vertices
//	dual.go         polygons, and the mesh under work
//	untangle.go     folded polygons, equal vertices
//	refine.go       halving of edges
//	simplify.go     making lean
//	harden.go       hard cells, denser grids
//	guard.go        keeping a mesh under work free of crossings
//	cure.go         single triangles that are low, face inwards or stand off
//	missed.go       surface that a mesh has missed
//	trouble.go      which vertices are in trouble
//	tetra.go        marching tetrahedra
//	error.go        sampled distance, folded triangles
package isosurface
