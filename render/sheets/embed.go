package sheets

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"regexp"

	"github.com/tdewolff/canvas"
)

// Pictures come as PNG files, and PDF files can hold the very data of one: both compress rows of pixels alike (ISO
// 32000-1, 7.4.4.4: predictor 15 stands for the row filters of PNG). So nothing is compressed a second time: the page is
// drawn with a stand-in of one pixel, and the data is put in its place when the file is written.

// raw is the compressed data of a PNG file as it can stand in a PDF file.
type raw struct {
	width, height int
	data          []byte
}

// Places in a PNG file (ISO/IEC 15948, 5.3, 11.2.2).
const (
	pngMark    = "\x89PNG\r\n\x1a\n"
	chunkFrame = 12 // length, name and check sum round the data of a chunk
	headChunk  = 13
	trueColour = 2 // eight bits each of red, green and blue
)

// rawOf takes the data out of a PNG file of plain colours in one pass; false for any other kind.
func rawOf(file []byte) (raw, bool) {
	rest, ok := bytes.CutPrefix(file, []byte(pngMark))
	if !ok {
		return raw{}, false
	}
	var r raw
	for len(rest) >= chunkFrame {
		n := int(binary.BigEndian.Uint32(rest))
		if n < 0 || n > len(rest)-chunkFrame {
			return raw{}, false
		}
		name, data := string(rest[4:8]), rest[8:8+n]
		rest = rest[n+chunkFrame:]
		switch name {
		case "IHDR":
			if n != headChunk || data[8] != 8 || data[9] != trueColour || data[12] != 0 {
				return raw{}, false
			}
			r.width, r.height = int(binary.BigEndian.Uint32(data)), int(binary.BigEndian.Uint32(data[4:]))
		case "IDAT":
			r.data = append(r.data, data...)
		case "IEND":
			return r, r.width > 0 && r.height > 0 && len(r.data) > 0
		}
	}
	return raw{}, false
}

// embed draws a picture by a stand-in; false when its data cannot be taken as it is.
func (p *pen) embed(d *Drawing, x, y, widthMM float64) bool {
	if p.stood[d] == nil {
		r, ok := rawOf(d.PNG)
		if size := d.Image.Bounds().Size(); !ok || r.width != size.X || r.height != size.Y {
			return false
		}
		p.stood[d] = &image.NRGBA{Pix: []uint8{0, 0, 0, 0xff}, Stride: 4, Rect: image.Rect(0, 0, 1, 1)} // one of its own: the writer knows it again
		*p.raws = append(*p.raws, r)
	}
	size := d.Image.Bounds().Size()
	high := widthMM * float64(size.Y) / float64(size.X)
	p.ctx.RenderImage(p.stood[d], canvas.Identity.Translate(x, PageHeightMM-y-high).Scale(widthMM, high)) // up the page
	return true
}

// standIn is how the writer of PDF files heads the object of a picture of one pixel.
var standIn = regexp.MustCompile(`^\d+ 0 obj\n<<[^>]*/Subtype/Image[^>]*/Height 1/[^>]*/Width 1>>stream`)

// object writes the data as a numbered object of a PDF file.
func (r raw) object(number int) []byte {
	head := fmt.Sprintf("%d 0 obj\n<</Type/XObject/Subtype/Image/Width %d/Height %d/ColorSpace/DeviceRGB/BitsPerComponent 8/Interpolate true"+
		"/Filter/FlateDecode/DecodeParms<</Predictor 15/Colors 3/BitsPerComponent 8/Columns %d>>/Length %d>>\nstream\n", number, r.width, r.height, r.width, len(r.data))
	return append(append([]byte(head), r.data...), "\nendstream\nendobj\n"...)
}
