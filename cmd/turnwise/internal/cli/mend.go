package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"turnwise/assembly"
	"turnwise/assembly/mend"
	"turnwise/cmd/turnwise/internal/pipeline"
)

type mendOptions struct {
	design   string
	pick     int
	unproven bool
	json     bool
}

func newMend(s Streams, run func(Streams, mendOptions) error) *cobra.Command {
	var o mendOptions
	c := &cobra.Command{
		Use:   "mend DESIGN",
		Short: "List changes of a design that make it buildable, and write the one you pick",
		Long: `Mend works a design out and lists, for every fault that stops the work, the changes of the file that take
it away, the cheapest first. Each was written into the text, worked out again and proven before it is listed as
such. With --pick the change is written into the file: only its lines, and nothing else, differ afterwards. The
file is replaced as a whole; it is left alone when it changed since it was read.

Exit status: 0 nothing has to be mended, or the file is mended and nothing is left to mend; 1 there is something to
mend (still), or writing failed; 2 the command was misused.`,
		Example: `  turnwise mend coat-rack.yaml             # list the changes, numbered
  turnwise mend coat-rack.yaml --pick 1    # write the first into the file`,
		Args: oneDesign,
		RunE: func(c *cobra.Command, args []string) error {
			o.design = args[0]
			if c.Flags().Changed("pick") && o.pick < 1 {
				return fmt.Errorf("--pick takes the number of a change, from 1 on, found %d", o.pick)
			}
			return run(s, o)
		},
	}
	c.Flags().IntVar(&o.pick, "pick", 0, "write the change with this number into the file")
	c.Flags().BoolVar(&o.unproven, "unproven", false, "let --pick write a change that was not worked out again")
	c.Flags().BoolVar(&o.json, "json", false, "print the list as JSON on standard output")
	return c
}

func runMend(s Streams, o mendOptions) error {
	f, err := readDesign(o.design)
	if err != nil {
		return err
	}
	text, err := io.ReadAll(f)
	f.Close()
	if err != nil {
		return failure{err}
	}
	r, err := check(s, o.design, text)
	if err != nil {
		return failure{err}
	}
	choices := mend.Choices(&r.Plan)
	if o.pick == 0 {
		if err := listChoices(s, o, r, choices); err != nil {
			return failure{err}
		}
		return verdict(r)
	}
	return writeChoice(s, o, text, choices)
}

// check works out a text as the design of that name.
func check(s Streams, name string, text []byte) (*pipeline.Result, error) {
	p := newProgress(s)
	defer p.done()
	return pipeline.Check(pipeline.Request{Name: filepath.Base(name), Design: bytes.NewReader(text), Progress: p.show})
}

// listChoices prints what there is to mend and how.
func listChoices(s Streams, o mendOptions, r *pipeline.Result, choices []mend.Choice) error {
	if o.json {
		printFindings(s.Err, o.design, r, func(f assembly.Finding) bool { return f.Severity == assembly.Stop && len(choices) == 0 })
		return printChoices(s.Out, r, choices)
	}
	printFindings(s.Out, o.design, r, func(f assembly.Finding) bool { return f.Severity == assembly.Stop || len(f.Repairs) > 0 })
	if verdict(r) == nil {
		fmt.Fprintf(s.Out, "%s can be built as drawn.\n", o.design)
	} else if len(choices) == 0 {
		fmt.Fprintln(s.Out, "No change of the file was found that mends it.")
	}
	return nil
}

// choiceJSON is one change for programs.
type choiceJSON struct {
	Number   int             `json:"number"`
	Code     string          `json:"code"`
	At       string          `json:"at"`
	Text     string          `json:"text"`
	Verified bool            `json:"verified"`
	Leaves   int             `json:"leaves"`
	Edits    []assembly.Edit `json:"edits"`
}

func printChoices(w io.Writer, r *pipeline.Result, choices []mend.Choice) error {
	out := struct {
		Format  string       `json:"format"`
		Changes []choiceJSON `json:"changes"`
		Untried int          `json:"untried"`
	}{"turnwise-mend/1", []choiceJSON{}, r.Mending.Untried}
	for _, c := range choices {
		f := r.Plan.Findings[c.Finding]
		out.Changes = append(out.Changes, choiceJSON{c.Number, f.Code, f.At, c.Repair.Text, c.Repair.Verified, c.Repair.Leaves, c.Repair.Edits})
	}
	b, err := json.MarshalIndent(out, "", " ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// writeChoice writes the picked change into the file, and says what is left to mend.
func writeChoice(s Streams, o mendOptions, text []byte, choices []mend.Choice) error {
	if o.pick > len(choices) {
		return fmt.Errorf("there is no change %d: %s", o.pick, haveChoices(o.design, len(choices)))
	}
	c := choices[o.pick-1]
	if !c.Repair.Verified && !o.unproven {
		return fmt.Errorf("change %d was not worked out again, so nobody knows whether it helps; say --unproven to write it all the same", o.pick)
	}
	changed, err := mend.Apply(text, c.Repair.Edits)
	if err != nil {
		return failure{err}
	}
	if err := rewrite(o.design, text, changed); err != nil {
		return failure{err}
	}
	fmt.Fprintf(s.Err, "Changed %s: %s\n", o.design, c.Repair.Text)
	printEdits(s.Err, c.Repair.Edits, "  ")
	r, err := check(s, o.design, changed)
	if err != nil {
		return failure{err}
	}
	if o.json {
		err = printChoices(s.Out, r, mend.Choices(&r.Plan))
	} else {
		err = listChoices(s, o, r, mend.Choices(&r.Plan))
	}
	if err != nil {
		return failure{err}
	}
	return verdict(r)
}

func haveChoices(design string, n int) string {
	if n == 0 {
		return "none was found for " + design
	}
	return fmt.Sprintf("%s has %s, see turnwise mend %s", design, count(n, "change"), quoted(design))
}

// quoted is a path as a shell takes it.
func quoted(path string) string {
	if path != "" && strings.Trim(path, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_./") == "" && path[0] != '-' {
		return path
	}
	return "'" + strings.ReplaceAll(path, "'", `'\''`) + "'"
}

// errOvertaken is a file that somebody else changed in the meantime.
var errOvertaken = errors.New("the file changed since it was read: nothing was written, run the command again")

// anyoneWrites are the permissions of which a file that may be changed has at least one. Renaming another over it would
// not ask for them.
const anyoneWrites = 0o222

// rewrite replaces a file that holds was by now, as a whole: a reader sees the old text or the new one. A file behind a
// link is replaced where it lies; its permissions stay.
func rewrite(path string, was, now []byte) error {
	path, err := filepath.EvalSymlinks(path)
	if err != nil {
		return err
	}
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if info.Mode().Perm()&anyoneWrites == 0 {
		return fmt.Errorf("%s may not be written: it is set to read only", path)
	}
	beside, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*")
	if err != nil {
		return err
	}
	defer os.Remove(beside.Name()) // gone already when all went well
	_, err = beside.Write(now)
	if err == nil {
		err = beside.Chmod(info.Mode().Perm())
	}
	if err == nil {
		err = beside.Sync()
	}
	if closing := beside.Close(); err == nil {
		err = closing
	}
	if err != nil {
		return err
	}
	is, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	if !bytes.Equal(is, was) {
		return errOvertaken
	}
	return os.Rename(beside.Name(), path)
}
