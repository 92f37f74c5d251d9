package pipeline

import (
	"fmt"
	"io"
	"strings"

	"turnwise/render/picture"
)

// WriteScores prints how good each picture is: its score, and the targets it misses with what was measured.
func WriteScores(w io.Writer, scores []picture.Scores) error {
	var b strings.Builder
	b.WriteString("\nPictures\n")
	for _, s := range scores {
		fmt.Fprintf(&b, "  %-10s %5.1f of 100", s.Picture, s.Score)
		if s.Score < picture.ScoreToShip {
			fmt.Fprintf(&b, "  (%d is meant)", picture.ScoreToShip)
		}
		b.WriteByte('\n')
		for _, m := range s.Metrics {
			if m.Met {
				continue
			}
			limit, grave := "at least", ""
			if m.AtMost {
				limit = "at most"
			}
			if m.Hard {
				grave = "MUST BE MET: "
			}
			fmt.Fprintf(&b, "      %s%s %s: %g, %s %g wanted\n", grave, m.ID, m.Name, m.Value, limit, m.Target)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}
