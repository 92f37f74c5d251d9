package picture

import (
	"turnwise/assembly"
	"turnwise/geom"
	"turnwise/render"
)

// subset returns the stage with only the parts for which keep is true, each shifted by its offset. Ids are places in
// the new list of parts.
func (s *stage) subset(keep func(assembly.Part) bool, offsets map[string]geom.Vec) *stage {
	out := &stage{plan: s.plan, joined: map[[2]int]bool{}, id: map[string]int{}}
	for i, p := range s.parts {
		if !keep(p) {
			continue
		}
		out.parts = append(out.parts, p)
		id := len(out.parts)
		out.id[p.ID] = id
		for _, sc := range []struct{ from, to *render.Scene }{{&s.scene, &out.scene}, {&s.coarse, &out.coarse}} {
			in := sc.from.Instances[i]
			in.ID, in.Pose = id, in.Pose.Moved(offsets[p.ID])
			sc.to.Instances = append(sc.to.Instances, in)
		}
	}
	for _, j := range s.plan.Joints {
		a, b := out.id[j.A.Part], out.id[j.B.Part]
		if a > 0 && b > 0 {
			out.joined[pair(a, b)] = true
		}
	}
	out.built = out.box()
	return out
}
