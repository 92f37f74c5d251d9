package cli

import (
	"fmt"
	"io"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/mend"
	"turnwise/assembly/planfile"
	"turnwise/assembly/units"
	"turnwise/assembly/wording"
	"turnwise/cmd/turnwise/internal/pipeline"
)

// report prints what was found: plan.json for programs, or tables and the order of work on Out. Findings are messages
// and go to Err.
func report(s Streams, design string, r *pipeline.Result, asJSON bool) error {
	printFindings(s.Err, design, r, func(assembly.Finding) bool { return true })
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
			id := q.ID
			if q.Half != "" { // a union is one fitting; a point may be called a, too
				id = strings.TrimSuffix(id, "."+q.Half)
			}
			fittings[id] = true
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

// printFindings prints the findings that are wanted, one a line, the place first where there is one. Under it stand the
// changes of the design that answer it, each with what to type and the command that types it.
func printFindings(w io.Writer, design string, r *pipeline.Result, wanted func(assembly.Finding) bool) {
	choices := mend.Choices(&r.Plan)
	shown := map[int]bool{}
	for _, f := range r.Plan.Findings {
		if !wanted(f) {
			continue
		}
		if f.At != "" {
			fmt.Fprintf(w, "%s: ", f.At)
		}
		fmt.Fprintf(w, "%s", f.Text)
		if f.Code != pipeline.DesignFault {
			fmt.Fprintf(w, " [%s %s]", f.Severity, f.Code)
		}
		fmt.Fprintln(w)
		printRepairs(w, design, f, choices, shown)
	}
	if n := r.Mending.Untried; n > 0 {
		fmt.Fprintf(w, "%s of the design %s not tried, to keep this short.\n", count(n, "further change"), were(n))
	}
}

func were(n int) string {
	if n == 1 {
		return "was"
	}
	return "were"
}

// printRepairs prints the ways out of one finding. A change that was shown already is only named by its number.
func printRepairs(w io.Writer, design string, f assembly.Finding, choices []mend.Choice, shown map[int]bool) {
	failed, again := 0, []string{}
	for _, r := range f.Repairs {
		n := mend.NumberOf(choices, r.Edits)
		switch {
		case len(r.Edits) == 0 && mend.IsMended(&f) && f.Code != "LOOP" && f.Code != "AVOIDED": // said by the change
		case len(r.Edits) == 0:
			fmt.Fprintf(w, "    or: %s\n", r.Text)
		case n == 0 && r.Tried:
			failed++
		case n == 0: // it has a proven one
		case shown[n]:
			again = append(again, fmt.Sprint(n))
		default:
			shown[n] = true
			how := "proven"
			switch {
			case !r.Verified:
				how = "not tried"
			case r.Leaves > 0:
				how = fmt.Sprintf("answers this; %s will be left", count(r.Leaves, "fault"))
			}
			fmt.Fprintf(w, "    change %d (%s): %s\n", n, how, r.Text)
			printEdits(w, r.Edits, "      ")
			fmt.Fprintf(w, "      or let it be typed: turnwise mend %s --pick %d\n", quoted(design), n)
		}
	}
	if len(again) > 0 {
		fmt.Fprintf(w, "    answered by change %s too\n", strings.Join(again, ", "))
	}
	if failed > 0 {
		fmt.Fprintf(w, "    %s tried and found not to help\n", count(failed, "other change"))
	}
}

// printEdits shows each line of the file as it is and as it is to be.
func printEdits(w io.Writer, edits []assembly.Edit, indent string) {
	for _, e := range edits {
		if e.Old == "" {
			fmt.Fprintf(w, "%sbefore line %d, new |%s\n", indent, e.Line, e.New)
			continue
		}
		head := fmt.Sprintf("line %d is ", e.Line)
		fmt.Fprintf(w, "%s%s|%s\n", indent, head, e.Old)
		fmt.Fprintf(w, "%s%*s|%s\n", indent, len(head), "make it ", e.New)
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
