package picture

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"turnwise/geom"
	"turnwise/render"
)

// TestNamesHideNothing: names lie on no body but a broad one of their own, and on no other name.
func TestNamesHideNothing(t *testing.T) {
	b := &render.Buffers{Width: 2000, Height: 2000, Packed: make([]uint32, 2000*2000)}
	fill := func(id, x0, x1, y0, y1 int) {
		for y := y0; y < y1; y++ {
			for x := x0; x < x1; x++ {
				b.Packed[y*b.Width+x] = render.Pack(id, geom.AxisZ)
			}
		}
	}
	// Ten rods, 2 mm apart and 40 long, and a sheet: 20 pixels are a millimetre.
	const rods = 10
	fill(rods+2, 0, 2000, 0, 2000)
	for i := range rods {
		fill(i+1, 200, 1000, 200+120*i, 260+120*i)
	}
	fill(rods+1, 200, 1800, 1420, 1990)
	n := newNamer(b, rods+1)
	var all [][4]float64
	for i := range rods + 1 {
		const w, h = 4.0, 2.2
		at := n.place(i+1, w, h)
		for y := int((at.y - h/2) * 20); y < int((at.y+h/2)*20); y++ {
			for x := int((at.x - w/2) * 20); x < int((at.x+w/2)*20); x++ {
				id := b.ID(y*b.Width + x)
				assert.True(t, id == rods+2 || id == i+1 && id == rods+1, fmt.Sprint("name ", i+1, " lies on ", id))
			}
		}
		for _, o := range all {
			assert.False(t, at.x-w/2 < o[1] && at.x+w/2 > o[0] && at.y-h/2 < o[3] && at.y+h/2 > o[2])
		}
		all = append(all, [4]float64{at.x - w/2, at.x + w/2, at.y - h/2, at.y + h/2})
	}
}
