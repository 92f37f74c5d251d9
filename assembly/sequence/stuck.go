package sequence

import (
	"fmt"
	"strings"

	"turnwise/assembly"
)

// stuck explains a scene that nothing can be taken off.
func (s *scene) stuck() assembly.Finding {
	ids := s.f.ids(s.members)
	f := assembly.Finding{
		Code: "STUCK", Severity: assembly.Stop, Parts: ids, Values: map[string]float64{"parts": float64(len(ids))},
		Repairs: []assembly.Repair{},
		Source:  "searched: every straight motion and every full turn of every side, with all that stands in the way",
		Text:    "no order was found in which these parts go together: " + strings.Join(ids, ", "),
	}
	for _, k := range s.reasons() {
		c := s.reports[k]
		f.Text += fmt.Sprintf("; %s meets %s", s.f.parts[c.moving].ID, s.f.parts[c.fixed].ID)
	}
	return f
}

// reasons lists the moves that were tried, in a fixed order.
func (s *scene) reasons() []moveKey {
	var out []moveKey
	for k := range s.reports {
		out = append(out, k)
	}
	sortBy(out, func(k moveKey) int { return k.side })
	sortBy(out, func(k moveKey) int { return k.joint })
	sortBy(out, func(k moveKey) int { return int(k.kind) })
	return out
}
