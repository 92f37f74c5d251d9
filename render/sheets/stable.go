package sheets

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
)

// The writer of PDF files stamps two things with the time of day: the document's date, and the head table of every font
// it embeds (OpenType specification, table head: modified, a count of seconds). withoutClock takes both out, so that a
// document always gives the same bytes. Fonts lie in compressed streams whose length may change with their content;
// so the file is taken apart into its objects, and its table of offsets written anew. On the way the data of pictures
// takes the place of their stand-ins.
func withoutClock(file []byte, raws []raw) ([]byte, error) {
	objects, tail, err := splitObjects(file)
	if err != nil {
		return nil, err
	}
	fonts := map[int]bool{}
	for _, m := range fontRef.FindAllSubmatch(file, -1) {
		n, err := strconv.Atoi(string(m[1]))
		if err != nil {
			return nil, err
		}
		fonts[n] = true
	}
	out := bytes.NewBuffer(slices.Clone(file[:objects[0].at]))
	offsets := make([]int, len(objects)+1)
	for _, o := range objects {
		body := stampedDate.ReplaceAll(o.body, []byte("/CreationDate(D:20000101000000Z)"))
		if fonts[o.number] {
			if body, err = refont(body); err != nil {
				return nil, fmt.Errorf("font object %d: %w", o.number, err)
			}
		}
		if len(raws) > 0 && standIn.Match(o.body) {
			body, raws = raws[0].object(o.number), raws[1:]
		}
		offsets[o.number] = out.Len()
		out.Write(body)
	}
	if len(raws) > 0 {
		return nil, fmt.Errorf("%d pictures have no place: %w", len(raws), errShape)
	}
	at := out.Len()
	fmt.Fprintf(out, "xref\n0 %d\n0000000000 65535 f \n", len(offsets))
	for _, o := range offsets[1:] {
		fmt.Fprintf(out, "%010d 00000 n \n", o)
	}
	out.Write(tail)
	fmt.Fprintf(out, "startxref\n%d\n%%%%EOF\n", at)
	return out.Bytes(), nil
}

var (
	fontRef     = regexp.MustCompile(`/FontFile2 (\d+) 0 R`)
	stampedDate = regexp.MustCompile(`/CreationDate\(D:[^)]*\)`)
	startOfXref = regexp.MustCompile(`startxref\n(\d+)\n%%EOF\n?$`)
	xrefHead    = regexp.MustCompile(`^xref\n0 (\d+)\n`)
)

// object is one numbered object of a PDF file, with the bytes it takes there.
type object struct {
	number, at int
	body       []byte
}

var errShape = errors.New("the file is not laid out as expected")

// xrefEntry is how long one entry of a table of offsets is (ISO 32000-1, 7.5.4).
const xrefEntry = 20

// splitObjects returns the objects in the order of the file, and the trailer.
func splitObjects(file []byte) ([]object, []byte, error) {
	m := startOfXref.FindSubmatchIndex(file)
	if m == nil {
		return nil, nil, errShape
	}
	at, err := strconv.Atoi(string(file[m[2]:m[3]]))
	if err != nil || at < 0 || at >= len(file) {
		return nil, nil, errShape
	}
	h := xrefHead.FindSubmatch(file[at:])
	if h == nil {
		return nil, nil, errShape
	}
	n, err := strconv.Atoi(string(h[1]))
	first := at + len(h[0])
	if err != nil || n < 2 || first+n*xrefEntry > len(file) {
		return nil, nil, errShape
	}
	objects := make([]object, 0, n-1)
	for i := 1; i < n; i++ {
		off, err := strconv.Atoi(string(file[first+i*xrefEntry : first+i*xrefEntry+10]))
		if err != nil || off < 0 || off >= at {
			return nil, nil, errShape
		}
		objects = append(objects, object{number: i, at: off})
	}
	slices.SortFunc(objects, func(a, b object) int { return a.at - b.at })
	for i := range objects {
		end := at
		if i+1 < len(objects) {
			end = objects[i+1].at
		}
		objects[i].body = file[objects[i].at:end]
	}
	return objects, file[first+n*xrefEntry : m[0]], nil
}

var (
	streamStart  = []byte("stream\n")
	streamEnd    = []byte("\nendstream")
	streamLength = regexp.MustCompile(`/Length \d+`)
)

// refont takes the time out of the font in a compressed stream object.
func refont(body []byte) ([]byte, error) {
	from := bytes.Index(body, streamStart)
	to := bytes.LastIndex(body, streamEnd)
	if from < 0 || to < from {
		return nil, errShape
	}
	head, packed, rest := body[:from], body[from+len(streamStart):to], body[to:]
	r, err := zlib.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, err
	}
	font, err := io.ReadAll(r)
	if err != nil {
		return nil, err
	}
	if err := clearModified(font); err != nil {
		return nil, err
	}
	var b bytes.Buffer
	w := zlib.NewWriter(&b)
	if _, err := w.Write(font); err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	head = streamLength.ReplaceAll(head, []byte("/Length "+strconv.Itoa(b.Len())))
	return slices.Concat(head, streamStart, b.Bytes(), rest), nil
}

// Places in a font file: OpenType specification, table directory and table head.
const (
	directoryAt    = 12
	directoryEntry = 16
	adjustmentAt   = 8  // in head: checkSumAdjustment
	modifiedAt     = 28 // in head: modified, 8 bytes
	headLength     = 54
	wholeSum       = 0xB1B0AFBA
)

// clearModified sets the time at which a font was changed to nothing, and its two check sums to what they are then.
func clearModified(font []byte) error {
	if len(font) < directoryAt {
		return errShape
	}
	tables := int(binary.BigEndian.Uint16(font[4:]))
	if len(font) < directoryAt+tables*directoryEntry {
		return errShape
	}
	for i := range tables {
		entry := font[directoryAt+i*directoryEntry:]
		if string(entry[:4]) != "head" {
			continue
		}
		at := int(binary.BigEndian.Uint32(entry[8:]))
		if at+headLength+2 > len(font) {
			return errShape
		}
		head := font[at : at+headLength+2]
		clear(head[modifiedAt : modifiedAt+8])
		clear(head[adjustmentAt : adjustmentAt+4])
		binary.BigEndian.PutUint32(entry[4:], sum32(head))
		binary.BigEndian.PutUint32(head[adjustmentAt:], wholeSum-sum32(font))
		return nil
	}
	return errShape
}

// sum32 adds up big-endian words; what is missing at the end counts as zero.
func sum32(b []byte) uint32 {
	var sum uint32
	for len(b) >= 4 {
		sum += binary.BigEndian.Uint32(b)
		b = b[4:]
	}
	var last [4]byte
	copy(last[:], b)
	return sum + binary.BigEndian.Uint32(last[:])
}
