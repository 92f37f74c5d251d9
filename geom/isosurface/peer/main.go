// Command peer meshes six reference solids with this project's mesher and with the uniform grid of a general-purpose one,
// measures both alike, and prints a table.
//
//	go run . [-only tee,elbow] [-stl FOLDER] [-json FILE]
//
// Each case is a process of its own, so that its peak of memory is its own. -stl writes our six meshes as binary STL.
// The exit code is 1 when one of ours misses its mark.
//
// The measures: "max err" and "rms" are the judge's field at points on the triangles; "smooth" the largest of those over
// 1.75 mm from every sharp edge; "edge mx" and "edge rms" the distance from points of the true sharp edges to the mesh; "missed"
// the largest distance from 60,000 points of the true surface to the mesh. "flaws" counts, after welding equal corners,
// edges used once / more than twice / twice in one direction / vertices with several fans.
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
)

func main() {
	child := flag.String("case", "", "measure one case, solid/mesher, and print it as JSON (used by the command itself)")
	only := flag.String("only", "", "the solids to measure, with commas between; all without it")
	folder := flag.String("stl", "", "write our meshes into this folder as binary STL")
	jsonFile := flag.String("json", "", "write the results into this file too")
	flag.Parse()
	if err := run(*child, *only, *folder, *jsonFile, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "peer:", err)
		os.Exit(1)
	}
}

func run(child, only, folder, jsonFile string, out io.Writer) error {
	if child != "" {
		r, err := measureCase(child, folder)
		if err != nil {
			return err
		}
		return json.NewEncoder(out).Encode(r)
	}
	names, err := chosen(only)
	if err != nil {
		return err
	}
	if folder != "" {
		if err := os.MkdirAll(folder, 0o755); err != nil {
			return err
		}
	}
	fmt.Fprintln(out, heading)
	var all []result
	missedMarks := 0
	for _, name := range names {
		pair, err := runPair(name, folder)
		if err != nil {
			return err
		}
		all = append(all, pair...)
		for _, r := range pair {
			fmt.Fprintln(out, r.row())
		}
		verdict, ok := marks[name].judge(&pair[0], &pair[1])
		if fmt.Fprintln(out, verdict); !ok {
			missedMarks++
		}
	}
	if jsonFile != "" {
		data, err := json.MarshalIndent(all, "", "  ")
		if err != nil {
			return err
		}
		if err := os.WriteFile(jsonFile, append(data, '\n'), 0o644); err != nil {
			return err
		}
	}
	if missedMarks > 0 {
		return fmt.Errorf("%d of %d solids miss a mark", missedMarks, len(names))
	}
	return nil
}

// chosen returns the names of the solids to measure.
func chosen(only string) ([]string, error) {
	var all []string
	for _, c := range cases() {
		all = append(all, c.name)
	}
	if only == "" {
		return all, nil
	}
	names := strings.Split(only, ",")
	for _, n := range names {
		if !slices.Contains(all, n) {
			return nil, fmt.Errorf("no solid %q; there are %s", n, strings.Join(all, ", "))
		}
	}
	return names, nil
}

// The two meshers.
const (
	oursName      = "ours"
	referenceName = "reference"
)

// runPair measures one solid with both meshers, each in a process of its own.
func runPair(name, folder string) ([]result, error) {
	self, err := os.Executable()
	if err != nil {
		return nil, err
	}
	var out []result
	for _, by := range []string{oursName, referenceName} {
		args := []string{"-case", name + "/" + by}
		if folder != "" && by == oursName {
			args = append(args, "-stl", filepath.Clean(folder))
		}
		cmd := exec.Command(self, args...)
		cmd.Stderr = os.Stderr
		data, err := cmd.Output()
		if err != nil {
			return nil, fmt.Errorf("%s/%s: %w", name, by, err)
		}
		var r result
		if err := json.Unmarshal(data, &r); err != nil {
			return nil, fmt.Errorf("%s/%s: %w", name, by, err)
		}
		out = append(out, r)
	}
	return out, nil
}
