package picture

import (
	"fmt"
	"sort"

	"turnwise/assembly"
	"turnwise/assembly/standard"
)

func sortLines(lines []keyLine) {
	sort.SliceStable(lines, func(i, j int) bool { return lines[i].number < lines[j].number })
}

// describe names a part for the key.
func describe(plan *assembly.Plan, p assembly.Part) string {
	size := ""
	for i, s := range p.Size {
		if i > 0 {
			size += " x "
		}
		size += string(s)
	}
	if p.Kind == standard.Pipe {
		return fmt.Sprintf("pipe %s, %.0f mm", size, p.LengthMM)
	}
	return fmt.Sprintf("%s %s", p.Kind, size)
}
