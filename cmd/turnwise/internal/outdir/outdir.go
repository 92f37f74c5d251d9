// Package outdir puts the files of a build into their folder so that every file is whole at every moment, whenever
// the program is killed.
//
// # How a swap works
//
//  1. All new files are written into a folder beside the target, called .NAME.new.
//  2. The swap list (which files to move, which old ones to remove, what the file list will say) is written there
//     under another name and renamed to swap.json. From this moment the swap counts as decided.
//  3. The file list of the target is widened to old and new files, so that whatever happens next, each file in the
//     target that this program made is known as its own.
//  4. Files are renamed in one by one, plan.json last.
//  5. Old files of ours that no longer belong are removed (only now: until plan.json is new they are named by the old
//     one), the file list gets its final form, and the folder beside is removed.
//
// A run killed before 2 leaves a folder that the next run throws away; one killed after 2 leaves a swap that the next
// run finishes first. Files that the program did not write are never touched, unless one stands where a new file has
// to go. Two builds into one folder wait for one another through a lock where the system has one.
package outdir

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sort"
	"strings"
)

// ListName is the file in the target that names what the program wrote.
const ListName = "turnwise-files.json"

// LastName is the file renamed in last: when it is new, all others are.
const LastName = "plan.json"

const swapName = "swap.json"

// File is one file to write: a slash-separated path under the target, the group it belongs to, and its bytes.
type File struct {
	Path  string
	Group string
	Data  []byte
}

// Stamp tells from what a file was made. Files of groups that were not asked for stay only while theirs is equal.
type Stamp struct {
	Design  string `json:"design"` // a digest of the design file
	Version string `json:"version"`
}

// entry is a line of the file list.
type entry struct {
	Path  string `json:"path"`
	Group string `json:"group"`
	Stamp
}

type swap struct {
	Move   []string `json:"move"`
	Remove []string `json:"remove"`
	Files  []entry  `json:"files"`
}

// Write replaces what the program wrote into dir by files. Groups names the groups that this build made whole: files
// of ours in these groups that are not among files are removed. Files of other groups stay when they carry the same
// stamp and are removed otherwise.
func Write(dir string, stamp Stamp, groups []string, files []File) error {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(dir), 0o777); err != nil {
		return err
	}
	unlock, err := lock(besideName(dir, "lock"))
	if err != nil {
		return fmt.Errorf("cannot write into %s: %w", dir, err)
	}
	defer unlock()
	if err := finish(dir); err != nil {
		return fmt.Errorf("finishing the swap that an earlier run began: %w", err)
	}
	if err := stage(dir, stamp, groups, files); err != nil {
		return err
	}
	return finish(dir)
}

// besideName is a name beside dir that a listing hides and no design's folder has.
func besideName(dir, what string) string {
	return filepath.Join(filepath.Dir(dir), "."+filepath.Base(dir)+"."+what)
}

func stage(dir string, stamp Stamp, groups []string, files []File) error {
	beside := besideName(dir, "new")
	if err := os.RemoveAll(beside); err != nil {
		return err
	}
	s, err := decide(dir, stamp, groups, files)
	if err != nil {
		return err
	}
	for _, f := range files {
		if err := writeFile(filepath.Join(beside, "files", filepath.FromSlash(f.Path)), f.Data); err != nil {
			return err
		}
	}
	return writeJSON(filepath.Join(beside, swapName), s)
}

// decide works out what moves, what goes, and what the list says afterwards.
func decide(dir string, stamp Stamp, groups []string, files []File) (swap, error) {
	whole := map[string]bool{}
	for _, g := range groups {
		whole[g] = true
	}
	s := swap{Move: []string{}, Remove: []string{}, Files: []entry{}}
	fresh := map[string]bool{}
	for _, f := range files {
		if !isOwnPath(f.Path) || fresh[f.Path] {
			return s, fmt.Errorf("outdir: unfit or repeated path %q", f.Path)
		}
		fresh[f.Path] = true
		s.Move = append(s.Move, f.Path)
		s.Files = append(s.Files, entry{f.Path, f.Group, stamp})
	}
	old, err := readList(dir)
	if err != nil {
		return s, err
	}
	for _, e := range old {
		switch {
		case fresh[e.Path]:
		case whole[e.Group] || e.Stamp != stamp:
			s.Remove = append(s.Remove, e.Path)
		default:
			s.Files = append(s.Files, e)
		}
	}
	sort.SliceStable(s.Move, func(i, j int) bool {
		a, b := s.Move[i] == LastName, s.Move[j] == LastName
		return !a && b || a == b && s.Move[i] < s.Move[j]
	})
	sort.Strings(s.Remove)
	sort.Slice(s.Files, func(i, j int) bool { return s.Files[i].Path < s.Files[j].Path })
	return s, nil
}

// isOwnPath keeps every path inside the target, also one read back from a list that somebody has edited.
func isOwnPath(p string) bool {
	return p != "" && p != ListName && filepath.IsLocal(filepath.FromSlash(p)) && !strings.Contains(p, "\\")
}

func readList(dir string) ([]entry, error) {
	b, err := os.ReadFile(filepath.Join(dir, ListName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var es []entry
	if err := json.Unmarshal(b, &es); err != nil {
		return nil, fmt.Errorf("%s is damaged (%v): move it away, then the files it named are left alone", filepath.Join(dir, ListName), err)
	}
	kept := es[:0]
	for _, e := range es {
		if isOwnPath(e.Path) {
			kept = append(kept, e)
		}
	}
	return kept, nil
}

// finish carries out a decided swap, or clears what an undecided one left.
func finish(dir string) error {
	beside := besideName(dir, "new")
	b, err := os.ReadFile(filepath.Join(beside, swapName))
	if errors.Is(err, fs.ErrNotExist) {
		return os.RemoveAll(beside)
	}
	if err != nil {
		return err
	}
	var s swap
	if err := json.Unmarshal(b, &s); err != nil {
		return fmt.Errorf("%s: %w", filepath.Join(beside, swapName), err)
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	if err := widenList(dir, s); err != nil {
		return err
	}
	last := false
	for _, p := range s.Move {
		if p == LastName {
			last = true
			continue
		}
		if err := moveIn(dir, beside, p); err != nil {
			return err
		}
	}
	if last {
		if err := moveIn(dir, beside, LastName); err != nil {
			return err
		}
	}
	for _, p := range s.Remove {
		if err := remove(dir, p); err != nil {
			return err
		}
	}
	if err := writeJSON(filepath.Join(dir, ListName), s.Files); err != nil {
		return err
	}
	return os.RemoveAll(beside)
}

// widenList makes the list name everything of ours that is or will be in the target while the swap runs.
func widenList(dir string, s swap) error {
	old, err := readList(dir)
	if err != nil {
		return err
	}
	named := map[string]bool{}
	all := append([]entry{}, s.Files...)
	for _, e := range s.Files {
		named[e.Path] = true
	}
	for _, e := range old {
		if !named[e.Path] {
			all = append(all, e)
		}
	}
	sort.Slice(all, func(i, j int) bool { return all[i].Path < all[j].Path })
	return writeJSON(filepath.Join(dir, ListName), all)
}

// moveIn renames one file into the target. A file that is no longer beside was moved by the run that was killed.
func moveIn(dir, beside, path string) error {
	if !isOwnPath(path) {
		return fmt.Errorf("unfit path %q in the swap list", path)
	}
	to := filepath.Join(dir, filepath.FromSlash(path))
	if err := os.MkdirAll(filepath.Dir(to), 0o777); err != nil {
		return err
	}
	err := os.Rename(filepath.Join(beside, "files", filepath.FromSlash(path)), to)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

// remove deletes one file of ours and then the folders that it leaves empty.
func remove(dir, path string) error {
	if !isOwnPath(path) {
		return nil
	}
	full := filepath.Join(dir, filepath.FromSlash(path))
	if info, err := os.Lstat(full); err != nil || info.IsDir() {
		return nil
	}
	if err := os.Remove(full); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	for d := filepath.Dir(full); d != dir && strings.HasPrefix(d, dir); d = filepath.Dir(d) {
		if os.Remove(d) != nil {
			break // not empty
		}
	}
	return nil
}

func writeJSON(path string, v any) error {
	b, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		return err
	}
	tmp := path + ".part"
	if err := writeFile(tmp, append(b, '\n')); err != nil {
		return err
	}
	return os.Rename(tmp, path)
}

func writeFile(path string, data []byte) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return err
	}
	return os.WriteFile(path, data, 0o666)
}
