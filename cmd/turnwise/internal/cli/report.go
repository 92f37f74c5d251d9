package cli

import (
	"fmt"
	"io"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/planfile"
	"turnwise/assembly/units"
	"turnwise/assembly/wording"
	"turnwise/cmd/turnwise/internal/pipeline"
)

// report prints what was found: plan.json for programs, or tables and the order of work on Out. Findings are messages
// and go to Err.
func report(s Streams, r *pipeline.Result, asJSON bool) error {
	printFindings(s.Err, r.Plan.Findings)
	if asJSON {
		_, err := s.Out.Write(r.PlanJSON)
		return err
	}
	if !r.Readable {
		return nil
	}
	return printPlan(s.Out, r.Plan)
}

func printPlan(w io.Writer, p assembly.Plan) error {
	u := units.System(p.Design.Units)
	fmt.Fprintf(w, "%s: %s\n\n", p.Design.Title, summary(p))
	if stop := pipeline.Refusal(p); stop != "" {
		fmt.Fprintln(w, stop)
	}
	fmt.Fprintln(w, "Cut list")
	if err := planfile.PrintCuts(w, u, p.Cuts); err != nil {
		return err
	}
	fmt.Fprintln(w, "\nShopping list")
	if err := planfile.PrintShopping(w, u, p.Shopping); err != nil {
		return err
	}
	printLoops(w, p)
	printSteps(w, p.Steps)
	if len(p.Assumptions) > 0 {
		fmt.Fprintln(w, "\nTaken for granted (and the key of the design file that changes it)")
		for _, a := range p.Assumptions {
			fmt.Fprintf(w, "  %s [%s]\n", a.Text, a.Key)
		}
	}
	fmt.Fprintln(w, "\nMind while you work")
	for _, note := range wording.Safety(p) {
		fmt.Fprintf(w, "  %s.\n", note)
	}
	return nil
}

func summary(p assembly.Plan) string {
	pipes, fittings, boards := 0, map[string]bool{}, 0
	for _, q := range p.Parts {
		switch q.Kind {
		case "pipe":
			pipes++
		case "board":
			boards++
		case "room", "cleat", "strap", "pad":
		default:
			fittings[strings.TrimSuffix(strings.TrimSuffix(q.ID, ".b"), ".a")] = true
		}
	}
	return fmt.Sprintf("%s, %s, %s, %s", count(pipes, "pipe"), count(len(fittings), "fitting"), count(boards, "board"), count(len(p.Steps), "step"))
}

func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func printLoops(w io.Writer, p assembly.Plan) {
	if len(p.Loops) == 0 {
		return
	}
	fmt.Fprintln(w, "\nLoops of pipe, and the joint that closes each")
	for _, l := range p.Loops {
		by := l.ClosedBy
		if by == "" {
			by = "nothing can close it"
		}
		fmt.Fprintf(w, "  %s: %s\n", strings.Join(l.Parts, " - "), by)
	}
}

func printSteps(w io.Writer, steps []assembly.Step) {
	if len(steps) == 0 {
		return
	}
	fmt.Fprintln(w, "\nOrder of work")
	for _, s := range steps {
		fmt.Fprintf(w, "  %3d  %s\n", s.Number, s.Text)
	}
}

// printFindings prints one finding a line, the place first where there is one, its repairs indented under it.
func printFindings(w io.Writer, fs []assembly.Finding) {
	for _, f := range fs {
		if f.At != "" {
			fmt.Fprintf(w, "%s: ", f.At)
		}
		fmt.Fprintf(w, "%s", f.Text)
		if f.Code != pipeline.DesignFault {
			fmt.Fprintf(w, " [%s %s]", f.Severity, f.Code)
		}
		fmt.Fprintln(w)
		for _, r := range f.Repairs {
			fmt.Fprintf(w, "    try: %s\n", r.Text)
			for _, e := range r.Edits {
				fmt.Fprintf(w, "      line %d: %s\n", e.Line, strings.TrimSpace(e.New))
			}
		}
	}
}

// verdict turns a result into the error that carries its exit code.
func verdict(r *pipeline.Result) error {
	for _, f := range r.Plan.Findings {
		if f.Severity == assembly.Stop {
			return errFaults
		}
	}
	return nil
}
