package mesh

import "turnwise/geom"

// Overlaps sorts boxes for searching, and returns a function that calls do with the index of every one that overlaps
// a given box or touches it. The order of calls depends on the boxes only.
func Overlaps(boxes []geom.Box) func(b geom.Box, do func(i int32)) {
	return newBoxTree(boxes).each
}
