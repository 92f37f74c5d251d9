package main

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"
)

// result is one row of the table.
type result struct {
	Solid, By, Method string
	MeshMS, STLMS     float64
	PeakMB            float64
	Admesh            string
	measures
}

// Runs: the median of five after one to warm up; three of slow cases, and one of very slow ones.
const (
	runs, slowRuns = 5, 3
	slow           = 3 * time.Second
	verySlow       = 8 * time.Second
)

// measureCase runs and measures one case, named solid/mesher.
func measureCase(name, folder string) (result, error) {
	solid, by, _ := strings.Cut(name, "/")
	for _, c := range cases() {
		if c.name != solid {
			continue
		}
		mesher := func() ([]triangle, string, error) { return meshOurs(solid) }
		if by == referenceName {
			mesher = func() ([]triangle, string, error) {
				return meshReference(&c), fmt.Sprintf("grid %g", c.cellMM), nil
			}
		}
		r := result{Solid: solid, By: by}
		tris, err := r.clock(mesher)
		if err != nil {
			return r, err
		}
		r.PeakMB = peakMB()
		path, remove, err := stlPath(solid, by, folder)
		if err != nil {
			return r, err
		}
		defer remove()
		if err := r.clockSTL(mesher, path); err != nil {
			return r, err
		}
		r.measures = measure(&c, tris)
		r.Admesh = admesh(path)
		return r, nil
	}
	return result{}, fmt.Errorf("no solid %q", solid)
}

// clock measures the time to triangles in memory.
func (r *result) clock(mesher func() ([]triangle, string, error)) ([]triangle, error) {
	var times []float64
	var tris []triangle
	want := runs + 1 // the first warms up
	for len(times) < want {
		from := time.Now()
		var err error
		if tris, r.Method, err = mesher(); err != nil {
			return nil, err
		}
		took := time.Since(from)
		times = append(times, took.Seconds()*1000)
		switch {
		case len(times) > 1:
		case took > verySlow:
			want = 1
		case took > slow:
			want = slowRuns + 1
		}
	}
	if len(times) > 1 {
		times = times[1:]
	}
	slices.Sort(times)
	r.MeshMS = times[len(times)/2]
	return tris, nil
}

// clockSTL measures the time to a written STL file, which it leaves.
func (r *result) clockSTL(mesher func() ([]triangle, string, error), path string) error {
	var times []float64
	for range slowRuns {
		from := time.Now()
		tris, _, err := mesher()
		if err != nil {
			return err
		}
		if err := writeSTL(path, tris); err != nil {
			return err
		}
		times = append(times, time.Since(from).Seconds()*1000)
	}
	slices.Sort(times)
	r.STLMS = times[len(times)/2]
	return nil
}

// peakMB is the largest resident memory of the process so far.
func peakMB() float64 {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return math.NaN()
	}
	return float64(u.Maxrss) / 1024 // kilobytes on Linux
}

// stlPath says where a case's STL goes, and how to be rid of it when nobody asked for it.
func stlPath(solid, by, folder string) (path string, remove func(), err error) {
	if folder != "" {
		return filepath.Join(folder, solid+".stl"), func() {}, nil
	}
	dir, err := os.MkdirTemp("", "peer")
	if err != nil {
		return "", nil, err
	}
	return filepath.Join(dir, solid+"-"+by+".stl"), func() { os.RemoveAll(dir) }, nil
}

// writeSTL writes binary STL with true normals.
func writeSTL(path string, tris []triangle) error {
	data := make([]byte, 84, 84+50*len(tris))
	copy(data, "binary, lengths in mm")
	binary.LittleEndian.PutUint32(data[80:], uint32(len(tris)))
	for i := range tris {
		n := tris[i].normal()
		if l := n.len(); l > 0 {
			n = n.mul(1 / l)
		}
		for _, p := range [4]point{n, tris[i][0], tris[i][1], tris[i][2]} {
			for _, v := range [3]float64{p.x, p.y, p.z} {
				data = binary.LittleEndian.AppendUint32(data, math.Float32bits(float32(v)+0))
			}
		}
		data = append(data, 0, 0)
	}
	return os.WriteFile(path, data, 0o644)
}

// admeshRows are the rows of admesh's report that count something wrong, and their short names.
var admeshRows = [][2]string{
	{"Total disconnected facets", "disc"}, {"Degenerate facets", "degenerate"}, {"Edges fixed", "edges"},
	{"Facets removed", "removed"}, {"Facets added", "added"}, {"Facets reversed", "reversed"}, {"Backwards edges", "backwards"},
}

// admesh asks the checker of that name, if it is installed: "clean", or the counts that are not zero. Normals that it
// rewrote are in brackets.
func admesh(path string) string {
	tool, err := exec.LookPath("admesh")
	if err != nil {
		return "-"
	}
	data, err := exec.Command(tool, path).Output()
	if err != nil {
		return "failed"
	}
	var found []string
	normals := ""
	for _, line := range strings.Split(string(data), "\n") {
		name, rest, ok := strings.Cut(line, ":")
		fields := strings.Fields(rest)
		if !ok || len(fields) == 0 || fields[0] == "0" {
			continue
		}
		if strings.TrimSpace(name) == "Normals fixed" {
			normals = " (" + fields[0] + ")"
		}
		for _, r := range admeshRows {
			if strings.TrimSpace(name) == r[0] {
				found = append(found, r[1]+" "+fields[0])
			}
		}
	}
	if len(found) == 0 {
		return "clean" + normals
	}
	return strings.Join(found, " ") + normals
}

const heading = "solid     by         method        ms  .stl ms  triangles  max err    rms   smooth  edge mx edge rms   missed  flaws         degen folded sliver%  peakMB  admesh"

func (r *result) row() string {
	return fmt.Sprintf("%-9s %-10s %-9s %6.0f %8.0f %10d  %7.4f %6.4f  %7.4f  %7.4f  %7.4f  %7.4f  %-13s %5d %6d %7.1f %7.0f  %s",
		r.Solid, r.By, r.Method, r.MeshMS, r.STLMS, r.Triangles, r.MaxErr, r.RMSErr, r.SmoothMax, r.EdgeMax, r.EdgeRMS, r.Missed,
		fmt.Sprintf("%d/%d/%d/%d", r.Once, r.Often, r.SameWay, r.Fans), r.Degenerate, r.Folded, r.SliverPercent, r.PeakMB, r.Admesh)
}

// mark is what one of ours has to reach.
type mark struct {
	worstMM   float64
	triangles int
	times     float64 // of the reference's time in the same run
}

// marks of the six solids: our own aims, set from what chords need and from what general meshers reach.
var marks = map[string]mark{
	"tee": {0.02, 6000, 1}, "elbow": {0.02, 10000, 1}, "flange": {0.02, 5000, 1}, "pipe": {0.02, 2000, 1},
	"coupling": {0.05, 40000, 5}, "nipple": {0.05, 40000, 5},
}

// judge says in one line whether ours reaches its mark.
func (m mark) judge(o, reference *result) (string, bool) {
	var miss []string
	check := func(ok bool, format string, args ...any) {
		if !ok {
			miss = append(miss, fmt.Sprintf(format, args...))
		}
	}
	check(o.worst() <= m.worstMM, "worst error %.4f mm over %.2f", o.worst(), m.worstMM)
	check(o.Triangles <= m.triangles, "%d triangles over %d", o.Triangles, m.triangles)
	check(o.MeshMS <= m.times*reference.MeshMS, "%.0f ms over %.0f", o.MeshMS, m.times*reference.MeshMS)
	check(o.closed(), "not a closed 2-manifold")
	check(o.Degenerate == 0 && o.Folded == 0, "%d degenerate and %d folded triangles", o.Degenerate, o.Folded)
	check(o.Admesh == "-" || strings.HasPrefix(o.Admesh, "clean"), "admesh: %s", o.Admesh)
	if len(miss) > 0 {
		return "          MISSED: " + strings.Join(miss, "; "), false
	}
	return fmt.Sprintf("          reached: worst %.4f of %.2f mm, %.2f of %g times the reference's time, 1 triangle for its %.0f",
		o.worst(), m.worstMM, o.MeshMS/reference.MeshMS, m.times, float64(reference.Triangles)/float64(o.Triangles)), true
}
