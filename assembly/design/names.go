package design

// checkNames checks the names of the whole file.
func (r *reader) checkNames() {}
