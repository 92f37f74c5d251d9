package isosurface

import "turnwise/geom"

// A cell's corners are numbered x + 2 y + 4 z. Its edges 4 a + n run along axis a.
var (
	edgeCorners [12][2]int8
	// faceEdges lists the four edges of face 2 a + side in order round it, faceCorners the corners between: corner i
	// lies between edge i-1 and edge i.
	faceEdges, faceCorners [6][4]int8
	edgeFaces              [12][2]int8
)

func init() {
	edgeOf := map[[2]int8]int8{}
	for a := range 3 {
		n := 0
		for c := range 8 {
			if c>>a&1 == 0 {
				e := int8(4*a + n)
				edgeCorners[e] = [2]int8{int8(c), int8(c | 1<<a)}
				edgeOf[edgeCorners[e]] = e
				n++
			}
		}
	}
	seen := [12]int{}
	for f := range 6 {
		a, side := f/2, f%2
		u, v := 1<<((a+1)%3), 1<<((a+2)%3)
		base := side << a
		faceCorners[f] = [4]int8{int8(base), int8(base | u), int8(base | u | v), int8(base | v)}
		for i := range 4 {
			p, q := faceCorners[f][i], faceCorners[f][(i+1)%4]
			e := edgeOf[[2]int8{min(p, q), max(p, q)}]
			faceEdges[f][i] = e
			edgeFaces[e][seen[e]] = int8(f)
			seen[e]++
		}
	}
}

// cellRings are the closed rings of crossings of one cell. edges lists the crossed edges ring after ring; faces[i] is the
// face across which edges[i] is linked to the next of its ring. Ring r ends before end[r].
type cellRings struct {
	edges, faces [12]int8
	end          [4]int8
	count        int
	ring         [12]int8 // by edge, -1 where there is no crossing
}

// links says, for a cell edge and one of its two faces, which edge it is linked to.
type links [12][2]int8

// linkFaces links the crossed edges of every face. On a face with four crossings joined tells whether the inside
// corners are linked through the middle of the face.
func linkFaces(signs uint8, joined func(face int) bool) links {
	l := links{}
	for f := range 6 {
		var at [4]int
		n := 0
		for i, e := range faceEdges[f] {
			c := edgeCorners[e]
			if signs>>c[0]&1 != signs>>c[1]&1 {
				at[n] = i
				n++
			}
		}
		switch n {
		case 2:
			l.join(f, at[0], at[1])
		case 4:
			// cut off the corners that are not joined: corner i lies between edges i-1 and i
			i := 0
			if inside := signs>>faceCorners[f][0]&1 == 1; inside == joined(f) {
				i = 1
			}
			l.join(f, (i+3)%4, i)
			l.join(f, i+1, (i+2)%4)
		}
	}
	return l
}

func (l *links) join(face, i, j int) {
	a, b := faceEdges[face][i], faceEdges[face][j]
	l[a][sideOf(a, face)], l[b][sideOf(b, face)] = b, a
}

// sideOf tells which of the edge's two faces face is.
func sideOf(edge int8, face int) int {
	if int(edgeFaces[edge][0]) == face {
		return 0
	}
	return 1
}

// ringsOf walks the links of a cell.
func ringsOf(signs uint8, joined func(face int) bool) cellRings {
	l := linkFaces(signs, joined)
	r := cellRings{}
	for e := range r.ring {
		r.ring[e] = -1
	}
	n := int8(0)
	for first := range int8(12) {
		c := edgeCorners[first]
		if signs>>c[0]&1 == signs>>c[1]&1 || r.ring[first] >= 0 {
			continue
		}
		for e, side := first, 0; r.ring[e] < 0; n++ {
			r.ring[e] = int8(r.count)
			face := edgeFaces[e][side]
			r.edges[n], r.faces[n] = e, face
			e = l[e][side]
			side = 1 - sideOf(e, int(face))
		}
		r.end[r.count] = n
		r.count++
	}
	return r
}

// ringCell is a cell that the surface passes.
type ringCell struct {
	node  int32 // its least node
	first int32 // number of its first vertex
	v     []geom.Vec
	safe  []geom.Vec // for each of v, a place inside the cell
	at    [12]int8   // the vertex, of v, for the link after edges[n]
	cellRings
}

// signs returns the inside bits of a cell's corners.
func (g *grid) signs(node int) uint8 {
	var s uint8
	for c := range 8 {
		at := node + c&1 + c>>1&1*g.n[0] + c>>2*g.n[0]*g.n[1]
		if g.inside[at] {
			s |= 1 << c
		}
	}
	return s
}

// joined tells whether the inside corners of a face with four crossings are linked through its middle.
func (g *grid) joined(node, face int) bool {
	key := g.faceKey(node, face)
	i := g.index(int(key.node))
	a := g.point(i[0], i[1], i[2])
	u, v := (int(key.axis)+1)%3, (int(key.axis)+2)%3
	i[u]++
	i[v]++
	mid := a.Lerp(g.point(i[0], i[1], i[2]), 0.5)
	return (g.solid.Distance(mid) < 0) != g.flip[key]
}

func (g *grid) faceKey(node, face int) faceKey {
	axis := face / 2
	return faceKey{int8(axis), int32(node + face%2*g.stride(axis))}
}

// cellList finds the rings of all cells that the surface passes.
func (g *grid) cellList() []ringCell {
	parts := make([][]ringCell, slabs)
	inParallel(slabs, func(i int) {
		from, to := slab(i, g.n[2]-1)
		for k := from; k < to; k++ {
			for j := range g.n[1] - 1 {
				for x := range g.n[0] - 1 {
					node := g.node(x, j, k)
					if s := g.signs(node); s != 0 && s != 255 {
						parts[i] = append(parts[i], g.ringCell(node, s))
					}
				}
			}
		}
	})
	var out []ringCell
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}

func (g *grid) ringCell(node int, signs uint8) ringCell {
	return ringCell{node: int32(node), cellRings: ringsOf(signs, func(f int) bool { return g.joined(node, f) })}
}

// maxFlips is how often doubled edges are looked for; each round turns faces only where the last one left some.
const maxFlips = 20

// rings finds the rings of all cells such that no two rings share a face twice: that would make one edge of four
// triangles. It turns round the pairing of such faces until none is left, and returns false when some are.
func (g *grid) rings() ([]ringCell, []int32, bool) {
	cells := g.cellList()
	where := make([]int32, len(g.inside))
	for i := range where {
		where[i] = -1
	}
	for i, c := range cells {
		where[c.node] = int32(i)
	}
	for range maxFlips {
		bad := g.doubled(cells, where)
		if len(bad) == 0 {
			return cells, where, true
		}
		for _, key := range bad {
			g.flip[key] = !g.flip[key]
			for _, node := range [2]int{int(key.node), int(key.node) - g.stride(int(key.axis))} {
				if node >= 0 && where[node] >= 0 {
					cells[where[node]] = g.ringCell(node, g.signs(node))
				}
			}
		}
	}
	return cells, where, false
}

// doubled lists the faces across which one ring is linked to one other ring twice.
func (g *grid) doubled(cells []ringCell, where []int32) []faceKey {
	var bad []faceKey
	for i := range cells {
		c := &cells[i]
		for axis := range 3 {
			face := 2*axis + 1
			e := faceEdges[face]
			if c.ring[e[0]] < 0 || c.ring[e[1]] < 0 || c.ring[e[2]] < 0 || c.ring[e[3]] < 0 {
				continue
			}
			o := &cells[where[int(c.node)+g.stride(axis)]]
			d := faceEdges[2*axis]
			if c.ring[e[0]] == c.ring[e[2]] && c.ring[e[0]] == c.ring[e[1]] && c.ring[e[0]] == c.ring[e[3]] &&
				o.ring[d[0]] == o.ring[d[2]] && o.ring[d[0]] == o.ring[d[1]] && o.ring[d[0]] == o.ring[d[3]] {
				bad = append(bad, g.faceKey(int(c.node), face))
			}
		}
	}
	return bad
}

// edgeNode returns the least node of a cell edge.
func (g *grid) edgeNode(node int, edge int8) int {
	c := int(edgeCorners[edge][0])
	return node + c&1 + c>>1&1*g.n[0] + c>>2*g.n[0]*g.n[1]
}
