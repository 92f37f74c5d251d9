package isosurface

import (
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

func tetraMesh(s sdf.Leafed, o Options, r *Report) (*mesh.Mesh, error) { return nil, ErrUnsound }
func turnedMesh(s sdf.Leafed, o Options) (*mesh.Mesh, Report, bool)    { return nil, Report{}, false }
