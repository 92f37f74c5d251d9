// Package unite joins closed meshes into one skin.
//
// A [Union] takes one body after the other. Where the new body runs through what is there already, both are cut along
// the line in which they meet, what lies inside the other is taken off, and the two share the vertices of the line. All of
// it is local: only triangles near the new body are looked at.
//
// # Why it is sound
//
// Which sides of which triangles meet is decided by signs of determinants. Where rounding could turn a sign it is worked
// out again in whole fractions, so that neighbours never disagree, and the line closes. A sign that is nought (a vertex in the plane of a
// triangle, two faces in one plane) is none: the new body is then moved by a few steps of 32-bit floats and tried again.
// Bodies that only touch are not joined in this way. Whoever wants them joined lets them overlap, by more than their
// meshes stand off their surfaces.
//
// What is cut is rounded to 32-bit floats at once, triangles without height are taken out, and the neighbourhood is searched for
// triangles that cross. Where there are any, the body is moved and tried again too. A body that cannot be added is refused
// and leaves the union as it was, so that what comes out is closed and free of crossings at every moment.
//
// # Files
//
//	unite.go      Union: adding a body, tries
//	orient.go     signs
//	meet.go       which triangles meet, and in which points
//	divide.go     triangles cut along lines
//	fill.go       polygons with holes into triangles
//	inside.go     what lies inside the other
//	tidy.go       triangles without height, and the search for crossings
package unite
