package oracletest

import (
	"fmt"
	"math/rand"
	"strings"
)

// sheet is a design text being drawn at random.
type sheet struct {
	r      *rand.Rand
	room   []string
	points []string
	runs   []string
	boards []string
	fits   []string
	faces  map[string]bool
}

func newSheet(seed int64) *sheet {
	return &sheet{r: rand.New(rand.NewSource(seed)), faces: map[string]bool{}}
}

// text is the design. Measures are millimetres; those of the catalogue are used for all parts.
func (s *sheet) text() string {
	var b strings.Builder
	b.WriteString("title: drawn at random\nunits: mm\nthread: npt\npipe: 3/4\n")
	part := func(name string, lines []string) {
		if len(lines) > 0 {
			fmt.Fprintf(&b, "%s:\n  %s\n", name, strings.Join(lines, "\n  "))
		}
	}
	part("room", s.room)
	part("points", s.points)
	part("runs", s.runs)
	part("fittings", s.fits)
	part("boards", s.boards)
	return b.String()
}

func (s *sheet) point(name, at string)     { s.points = append(s.points, name+": "+at) }
func (s *sheet) run(name, path string)     { s.runs = append(s.runs, name+": "+path) }
func (s *sheet) between(low, high int) int { return low + s.r.Intn(high-low+1) }
func (s *sheet) wall(name string, at int)  { s.room = append(s.room, fmt.Sprintf("%s: %d", name, at)) }
func (s *sheet) once(in int) bool          { return s.r.Intn(in) == 0 }
func (s *sheet) board(name, size, at, on string) {
	s.boards = append(s.boards, fmt.Sprintf("%s: {size: %s, at: %q}", name, size, at))
	if on != "" {
		s.boards[len(s.boards)-1] = fmt.Sprintf("%s: {size: %s, at: %q, lies-on: %q}", name, size, at, on)
	}
}

// shapes are the ways to draw a frame, each of at most eight threaded joints but for rings, which have ten and a union.
var shapes = []struct {
	name string
	draw func(s *sheet)
}{
	{"walk", walk}, {"comb", drawComb}, {"ring", ring}, {"goal", goal}, {"alcove", alcove}, {"arm", arm}, {"shelf", shelf},
	{"pull", pull}, {"bored", bored}, {"corner", corner}, {"tower", tower}, {"piece", piece},
}

// walk is a tree: from a flange on the floor a random way along the axes, with branches.
func walk(s *sheet) {
	at := []([3]int){{500, 500, 0}}
	s.point("p0", "500, 500, floor")
	taken := map[[3]int]bool{at[0]: true}
	n := s.between(2, 4)
	for i := 1; i <= n; {
		from := len(at) - 1
		if s.once(3) {
			from = s.r.Intn(len(at))
		}
		if i == 1 || from == 0 && i > 1 {
			from = len(at) - 1
		}
		to := at[from]
		step := s.between(2, 4) * 70
		axis := s.r.Intn(3)
		if i == 1 {
			axis = 2
		} else if s.once(2) {
			step = -step
		}
		to[axis] += step
		if taken[to] || to[2] < 60 || to[0] < 80 || to[1] < 80 {
			if s.once(40) {
				return
			}
			continue
		}
		taken[to] = true
		at = append(at, to)
		s.point(fmt.Sprint("p", i), fmt.Sprintf("%d, %d, %d", to[0], to[1], to[2]))
		s.run(fmt.Sprint("r", i), fmt.Sprintf("p%d to p%d", from, i))
		i++
	}
	if s.once(2) { // a wall near one of the points
		p := at[s.r.Intn(len(at))]
		s.wall("right", max(p[0], 520)+s.between(25, 120))
	}
}

// drawComb is a post with two or three arms, near to a wall.
func drawComb(s *sheet) {
	s.point("foot", "400, 300, floor")
	z := 0
	path := "foot"
	for i := range s.between(1, 2) {
		z += s.between(120, 300)
		n := fmt.Sprint(i)
		s.point("j"+n, fmt.Sprintf("400, 300, %d", z))
		dx, dy := s.between(80, 260), 0
		if s.once(2) {
			dx, dy = dy, dx
		}
		if s.once(3) {
			dx = -dx
		}
		s.point("t"+n, fmt.Sprintf("%d, %d, %d", 400+dx, 300+dy, z))
		s.run("arm"+n, fmt.Sprintf("j%s to t%s", n, n))
		path += " to j" + n
	}
	s.point("top", fmt.Sprintf("400, 300, %d", z+s.between(100, 300)))
	s.run("post", path+" to top")
	if !s.once(3) {
		s.wall("right", 400+s.between(22, 300))
	}
}

// ring is a rectangle, lying or standing on a foot, with a union, without, or with one at a corner.
func ring(s *sheet) {
	w, h := s.between(300, 600), s.between(250, 500)
	z := 300
	s.point("a", fmt.Sprintf("300, 300, %d", z))
	s.point("b", fmt.Sprintf("%d, 300, %d", 300+w, z))
	s.point("c", fmt.Sprintf("%d, 300, %d", 300+w, z+h))
	s.point("d", fmt.Sprintf("300, 300, %d", z+h))
	legs := [4][2]string{{"a", "b"}, {"b", "c"}, {"c", "d"}, {"d", "a"}}
	closer := s.r.Intn(6) // of six, four have a union
	for i, l := range legs {
		path := l[0] + " to " + l[1]
		if i == closer {
			path = l[0] + " to union to " + l[1]
		}
		s.run(fmt.Sprint("leg", i), path)
	}
	if s.once(3) {
		s.wall("right", 300+w+s.between(19, 80))
	}
	if s.once(3) {
		s.wall("ceiling", z+h+s.between(19, 80))
	}
}

// goal is two posts joined on top, with flanges on the floor.
func goal(s *sheet) {
	w, h := s.between(300, 700), s.between(300, 600)
	for i, x := range []int{300, 300 + w} {
		n := fmt.Sprint(i)
		s.point("foot"+n, fmt.Sprintf("%d, 300, floor", x))
		s.point("top"+n, fmt.Sprintf("%d, 300, %d", x, h))
		s.run("post"+n, "foot"+n+" to top"+n)
	}
	s.run("bar", "top0 to top1")
	if s.once(2) {
		s.wall("right", 300+w+s.between(46, 90))
	}
	if s.once(3) {
		s.wall("ceiling", h+s.between(18, 60))
	}
}

// alcove is a rod between two walls, straight or with a knee to the floor.
func alcove(s *sheet) {
	w := s.between(500, 1200)
	s.wall("right", w)
	s.point("l", "left, 250, 900")
	s.point("r", "right, 250, 900")
	switch s.r.Intn(3) {
	case 0:
		s.run("rod", "l to r")
	case 1:
		s.point("m", fmt.Sprintf("%d, 250, 900", w/2))
		s.point("f", fmt.Sprintf("%d, 250, floor", w/2))
		s.run("rod", "l to m to r")
		s.run("leg", "m to f")
	default:
		s.point("m", fmt.Sprintf("%d, 250, 900", w/2))
		s.point("e", fmt.Sprintf("%d, %d, 900", w/2, s.between(350, 500)))
		s.run("rod", "l to m to r")
		s.run("nose", "m to e")
	}
}

// arm comes off a wall and turns; other walls are near.
func arm(s *sheet) {
	out := s.between(80, 300)
	x := s.between(45, 200)
	s.point("w", fmt.Sprintf("%d, back, 900", x))
	s.point("k", fmt.Sprintf("%d, %d, 900", x, out))
	side := s.between(80, 300)
	s.point("e", fmt.Sprintf("%d, %d, 900", x+side, out))
	s.run("arm", "w to k")
	s.run("side", "k to e")
	if s.once(2) {
		s.point("h", fmt.Sprintf("%d, %d, %d", x+side, out, 900+s.between(80, 200)))
		s.run("hook", "e to h")
	}
	if !s.once(3) {
		s.room = append(s.room, "left: 0")
		s.point("mark", "left, 900, 1500")
		s.point("mark2", "150, 900, 1500")
		if s.once(2) {
			s.run("stub", "mark to mark2")
		} else {
			s.points = s.points[:len(s.points)-2]
		}
	}
	if s.once(2) {
		s.wall("right", x+side+s.between(30, 150))
	}
}

// shelf is a goal with a board on its bar.
func shelf(s *sheet) {
	goal(s)
	s.points = append(s.points[:0:0], s.points...)
	s.board("top", fmt.Sprintf("%d x %d x 18", s.between(100, 300), s.between(120, 300)), fmt.Sprintf("%d, 200, ?", s.between(150, 350)), "bar")
}

// pull is a rail on two arms from one wall, or from two walls that meet.
func pull(s *sheet) {
	w := s.between(250, 700)
	out := s.between(80, 250)
	s.point("a", "200, back, 900")
	s.point("b", fmt.Sprintf("200, %d, 900", out))
	s.point("c", fmt.Sprintf("%d, %d, 900", 200+w, out))
	s.run("arm", "a to b")
	s.run("rail", "b to c")
	if s.once(2) {
		s.point("d", fmt.Sprintf("%d, back, 900", 200+w))
		s.run("arm2", "c to d")
	} else if s.once(2) {
		s.point("d", fmt.Sprintf("%d, %d, floor", 200+w, out))
		s.run("leg", "c to d")
	}
	if s.once(2) {
		s.wall("right", 200+w+s.between(46, 100))
	}
}

// bored is a board that a post goes through, with something wider above.
func bored(s *sheet) {
	h := s.between(200, 400)
	s.point("foot", "400, 300, floor")
	s.point("mid", fmt.Sprintf("400, 300, %d", h))
	s.point("top", fmt.Sprintf("400, 300, %d", h+s.between(150, 300)))
	s.point("end", fmt.Sprintf("%d, 300, %d", 400+s.between(80, 200), h+300))
	s.points[3] = fmt.Sprintf("end: top, x + %d", s.between(80, 200))
	s.run("post", "foot to mid to top")
	s.run("arm", "top to end")
	if s.once(2) {
		s.point("side", fmt.Sprintf("mid, y + %d", s.between(80, 200)))
		s.run("peg", "mid to side")
	} else {
		s.fits = append(s.fits, "mid: coupling")
	}
	low := h + s.between(25, 90)
	s.board("deck", fmt.Sprintf("%d x %d x 18", 300, 240), fmt.Sprintf("250, 180, %d", low), "")
}

// corner hangs on two walls at once.
func corner(s *sheet) {
	x, y := s.between(100, 400), s.between(100, 400)
	s.point("a", fmt.Sprintf("left, %d, 700", y))
	s.point("m", fmt.Sprintf("%d, %d, 700", x, y))
	s.point("b", fmt.Sprintf("%d, back, 700", x))
	s.run("one", "a to m")
	s.run("two", "m to b")
	if s.once(2) {
		s.point("f", fmt.Sprintf("%d, %d, floor", x, y))
		s.run("leg", "m to f")
	}
}

// tower stands between floor and ceiling.
func tower(s *sheet) {
	h := s.between(500, 900)
	s.wall("ceiling", h)
	s.point("f", "300, 300, floor")
	s.point("t", "300, 300, ceiling")
	if s.once(2) {
		s.run("post", "f to t")
		return
	}
	s.point("m", fmt.Sprintf("300, 300, %d", h/2))
	s.point("e", fmt.Sprintf("%d, 300, %d", 300+s.between(80, 250), h/2))
	s.run("post", "f to m to t")
	s.run("arm", "m to e")
}

// piece is two posts, or two walls, joined by a right-and-left coupling, a long screw, or a union.
func piece(s *sheet) {
	what := []string{"right-left", "long-screw", "union"}[s.r.Intn(3)]
	w := s.between(400, 700)
	if s.once(2) {
		s.wall("right", w)
		s.point("a", "left, 300, 700")
		s.point("b", "right, 300, 700")
		s.run("rod", "a to "+what+" to b")
		return
	}
	for i, x := range []int{300, 300 + w} {
		n := fmt.Sprint(i)
		s.point("foot"+n, fmt.Sprintf("%d, 300, floor", x))
		s.point("top"+n, fmt.Sprintf("%d, 300, 400", x))
		s.run("post"+n, "foot"+n+" to top"+n)
	}
	s.run("bar", "top0 to "+what+" to top1")
}
