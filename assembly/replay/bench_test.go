package replay_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/geom"
)

// comb is a rail of tees on the floor's height with a post rising from each, screwed together in place: a foot, then per
// tooth a tee and two pipes. Every tee and post turns past the posts that stand already.
func comb(teeth int) *kit {
	k := newKit()
	k.room(floor())
	const gap = 300.0
	along := geom.AxisX
	k.flange("foot", geom.Facing(geom.V(-height, 0, 200), along, geom.AxisY))
	end := geom.V(-engaged, 0, 200)
	last, port := "foot", "a"
	k.put(assembly.Place, []string{"foot"}, nil, nil, geom.V(0, 0, -30))
	for i := range teeth {
		bar, tee, post := fmt.Sprint("bar", i), fmt.Sprint("tee", i), fmt.Sprint("post", i)
		k.pipe(bar, end, along, gap)
		mid := end.Add(along.Mul(gap - engaged + reach))
		k.tee(tee, geom.Pose{Origin: mid, X: geom.AxisZ, Y: geom.AxisY.Neg(), Z: along})
		k.pipe(post, mid.Add(geom.V(0, 0, reach-engaged)), geom.AxisZ, 500)
		k.thread(bar+".in", bar, "a", last, port)
		k.thread(bar+".out", bar, "b", tee, "a")
		k.thread(post+".in", post, "a", tee, "c")
		k.screw(bar+".in", 50, last, bar)
		k.screw(bar+".out", 50, bar, tee)
		k.screw(post+".in", 50, tee, post)
		last, port = tee, "b"
		end = mid.Add(along.Mul(reach - engaged))
	}
	return k
}

func TestCheckComb(t *testing.T) {
	requireOK(t, comb(4).check())
}

func BenchmarkCheck(b *testing.B) {
	for _, teeth := range []int{5, 20, 100, 333} {
		b.Run(fmt.Sprintf("bodies=%d", 2+3*teeth), func(b *testing.B) {
			k := comb(teeth)
			require.True(b, k.check().OK())
			b.ReportAllocs()
			for b.Loop() {
				k.check()
			}
		})
	}
}
