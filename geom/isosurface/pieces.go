package isosurface

import (
	"fmt"

	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// piecesMesh meshes bodies that do not touch one by one, however near they are, and checks them together. The report has
// the sums and the worst of theirs, and the method of the one that was hardest.
func piecesMesh(s sdf.Leafed, pieces []sdf.Leafed, o Options) (*mesh.Mesh, Report, error) {
	whole, sum := &mesh.Mesh{}, Report{Method: Turned}
	for _, p := range pieces {
		m, r, err := Mesh(p, o)
		if err != nil {
			return nil, r, err
		}
		first := int32(len(whole.Vertices))
		whole.Vertices = append(whole.Vertices, m.Vertices...)
		for _, t := range m.Triangles {
			whole.Triangles = append(whole.Triangles, [3]int32{first + t[0], first + t[1], first + t[2]})
		}
		if r.Method != Turned && sum.Method != Tetrahedra {
			sum.Method = r.Method
		}
		sum.Attempts = max(sum.Attempts, r.Attempts)
		sum.CellsX, sum.CellsY, sum.CellsZ = max(sum.CellsX, r.CellsX), max(sum.CellsY, r.CellsY), max(sum.CellsZ, r.CellsZ)
		sum.RawTriangles += r.RawTriangles
		sum.Rejected = append(sum.Rejected, r.Rejected...)
	}
	if f := mesh.Examine(whole); !f.OK() {
		return nil, sum, fmt.Errorf("meshing bodies together: %w: %s", ErrUnsound, f.String())
	}
	sum.measure(s, whole, o.ToleranceMM)
	return whole, sum, nil
}
