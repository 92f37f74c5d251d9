package picture

import (
	"math"

	"turnwise/render"
)

// Names on a picture of many bodies: where they hide nothing.
const (
	nameCellMM  = 0.25 // of the grid on which places are looked for
	nameEdgeMM  = 0.3  // kept free round a name
	nameReachMM = 14.0 // of a name from its body
	nameNearMM  = 1.2  // from where on a line leads from a name to its body
	namePenMM   = 0.18
	nameBroadMM = 25.0 // a body this broad has its name on it, off the middle, where its mark is
)

// namer finds places for names: on the ground near a body, on no body and on no other name.
type namer struct {
	wide, high int
	id         []int32
	sum        []int32       // of cells that are not ground, above and left of a corner
	boxes      [][4]int      // of each body: least and greatest column and row
	taken      [][4]float64  // by names
	own        map[int][]int // cells of each body
}

// named is the place of a name: its middle, and where a line from it leads when it is far off.
type named struct {
	x, y float64
	far  bool
	to   point
}

// newNamer reads which body is seen where. Ids go from 1 to n; n + 1 and 0 are ground.
func newNamer(b *render.Buffers, n int) *namer {
	per := float64(PixelsPerMM*super) * nameCellMM
	out := &namer{wide: int(float64(b.Width) / per), high: int(float64(b.Height) / per), boxes: make([][4]int, n+1), own: map[int][]int{}}
	for i := range out.boxes {
		out.boxes[i] = [4]int{math.MaxInt, -1, math.MaxInt, -1}
	}
	out.id = make([]int32, out.wide*out.high)
	out.sum = make([]int32, (out.wide+1)*(out.high+1))
	for y := range out.high {
		for x := range out.wide {
			id := b.ID(int((float64(y)+0.5)*per)*b.Width + int((float64(x)+0.5)*per))
			k := y*out.wide + x
			out.id[k] = int32(id)
			solid := int32(0)
			if id >= 1 && id <= n {
				solid = 1
				e := &out.boxes[id]
				e[0], e[1], e[2], e[3] = min(e[0], x), max(e[1], x), min(e[2], y), max(e[3], y)
				out.own[id] = append(out.own[id], k)
			}
			s := (y+1)*(out.wide+1) + x + 1
			out.sum[s] = solid + out.sum[s-1] + out.sum[s-out.wide-1] - out.sum[s-out.wide-2]
		}
	}
	return out
}

// place finds the place of the name of a body, w by h millimetres, and takes it.
func (n *namer) place(id int, w, h float64) named {
	box := n.boxes[id]
	if box[1] < 0 { // not seen at all
		return named{x: -100, y: -100}
	}
	cx, cy := float64(box[0]+box[1]+1)/2*nameCellMM, float64(box[2]+box[3]+1)/2*nameCellMM
	wide, high := float64(box[1]-box[0]+1)*nameCellMM, float64(box[3]-box[2]+1)*nameCellMM
	if min(wide, high) > nameBroadMM {
		for _, f := range [][2]float64{{0.3, 0}, {-0.3, 0}, {0, 0.3}, {0, -0.3}, {0.3, 0.3}} {
			if x, y := cx+f[0]*wide, cy+f[1]*high; n.onItself(id, x, y, w, h) {
				return n.take(named{x: x, y: y}, w, h)
			}
		}
	}
	best, price := named{x: cx, y: cy}, math.Inf(1)
	reach := nameReachMM
	for y := cy - high/2 - reach; y <= cy+high/2+reach; y += 2 * nameCellMM {
		for x := cx - wide/2 - reach; x <= cx+wide/2+reach; x += 2 * nameCellMM {
			out := math.Hypot(max(0, math.Abs(x-cx)-wide/2), max(0, math.Abs(y-cy)-high/2))
			if p := 3*out + math.Hypot(x-cx, y-cy); p < price && n.free(x, y, w, h) {
				best, price = named{x: x, y: y}, p
			}
		}
	}
	if !math.IsInf(price, 1) {
		best = n.lead(id, best, w, h)
	}
	return n.take(best, w, h)
}

// take keeps other names off a place.
func (n *namer) take(at named, w, h float64) named {
	n.taken = append(n.taken, [4]float64{at.x - w/2, at.x + w/2, at.y - h/2, at.y + h/2})
	return at
}

// lead draws a line to the nearest cell of a body, when that is not close by.
func (n *namer) lead(id int, at named, w, h float64) named {
	least := math.Inf(1)
	for _, k := range n.own[id] {
		x, y := (float64(k%n.wide)+0.5)*nameCellMM, (float64(k/n.wide)+0.5)*nameCellMM
		if d := math.Hypot(max(0, math.Abs(x-at.x)-w/2), max(0, math.Abs(y-at.y)-h/2)); d < least {
			least, at.to = d, pt(x, y)
		}
	}
	at.far = least > nameNearMM
	return at
}

// cells are the columns and rows of the grid that a name and its edge cover; not ok off the sheet.
func (n *namer) cells(x, y, w, h float64) (x0, x1, y0, y1 int, ok bool) {
	x0, x1 = int((x-w/2-nameEdgeMM)/nameCellMM), int((x+w/2+nameEdgeMM)/nameCellMM)+1
	y0, y1 = int((y-h/2-nameEdgeMM)/nameCellMM), int((y+h/2+nameEdgeMM)/nameCellMM)+1
	return x0, x1, y0, y1, x-w/2 > nameEdgeMM && y-h/2 > nameEdgeMM && x1 <= n.wide && y1 <= n.high
}

// free tells whether a name would lie on ground alone.
func (n *namer) free(x, y, w, h float64) bool {
	x0, x1, y0, y1, ok := n.cells(x, y, w, h)
	if !ok {
		return false
	}
	row := n.wide + 1
	if n.sum[y1*row+x1]-n.sum[y0*row+x1]-n.sum[y1*row+x0]+n.sum[y0*row+x0] > 0 {
		return false
	}
	return n.clear(x, y, w, h)
}

// clear tells whether a name would lie on no other.
func (n *namer) clear(x, y, w, h float64) bool {
	for _, t := range n.taken {
		if x-w/2-nameEdgeMM < t[1]+nameEdgeMM && x+w/2+nameEdgeMM > t[0]-nameEdgeMM && y-h/2-nameEdgeMM < t[3]+nameEdgeMM && y+h/2+nameEdgeMM > t[2]-nameEdgeMM {
			return false
		}
	}
	return true
}

// onItself tells whether a name would lie on its own body alone.
func (n *namer) onItself(id int, x, y, w, h float64) bool {
	x0, x1, y0, y1, ok := n.cells(x, y, w, h)
	if !ok {
		return false
	}
	for r := y0; r < y1; r++ {
		for c := x0; c < x1; c++ {
			if n.id[r*n.wide+c] != int32(id) {
				return false
			}
		}
	}
	return n.clear(x, y, w, h)
}
