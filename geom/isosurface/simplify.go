package isosurface

func (d *skin) simplify() {}
