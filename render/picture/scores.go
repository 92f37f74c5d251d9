package picture

// Scores is what was measured on a picture.
type Scores struct {
}
