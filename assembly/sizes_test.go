package assembly_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"turnwise/assembly"
)

func TestSizes(t *testing.T) {
	for _, tt := range []struct {
		s           assembly.Sizes
		text, words string
	}{
		{nil, "", ""},
		{assembly.Sizes{"1"}, "1", "1 in"},
		{assembly.Sizes{"1-1/4", "1-1/4"}, "1-1/4", "1-1/4 in"},
		{assembly.Sizes{"3/4", "1/2"}, "3/4 x 1/2", "3/4 x 1/2 in"},
		{assembly.Sizes{"3/4", "3/4", "1/2"}, "3/4 x 3/4 x 1/2", "3/4 x 3/4 x 1/2 in"},
	} {
		assert.Equal(t, tt.text, tt.s.Text())
		assert.Equal(t, tt.words, tt.s.Words())
	}
}
