package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
)

// corners is a picture whose corners are red (top left), green (top right), blue
// (bottom left) and white.
func corners(w, h int) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{255, 0, 0, 255}
			switch {
			case x >= w/2 && y < h/2:
				c = color.RGBA{0, 255, 0, 255}
			case x < w/2 && y >= h/2:
				c = color.RGBA{0, 0, 255, 255}
			case x >= w/2:
				c = color.RGBA{255, 255, 255, 255}
			}
			img.SetRGBA(x, y, c)
		}
	}
	return img
}

func asJPEG(t testing.TB, img image.Image) []byte {
	var out bytes.Buffer
	if err := jpeg.Encode(&out, img, nil); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// withExif puts a segment APP1 of Exif 2.32 behind the start of a JPEG: the
// orientation, and a GPS directory (4.6.6) with a latitude in a text of its own.
func withExif(order binary.AppendByteOrder, turn uint16, jpg []byte) []byte {
	head := "II*\x00"
	if order == binary.AppendByteOrder(binary.BigEndian) {
		head = "MM\x00*"
	}
	tiff := order.AppendUint32([]byte(head), 8)
	field := func(tag, kind uint16, count, value uint32) {
		tiff = order.AppendUint16(tiff, tag)
		tiff = order.AppendUint16(tiff, kind)
		tiff = order.AppendUint32(tiff, count)
		tiff = order.AppendUint32(tiff, value)
	}
	tiff = order.AppendUint16(tiff, 2)
	tiff = order.AppendUint16(tiff, 0x0112)
	tiff = order.AppendUint16(tiff, 3)
	tiff = order.AppendUint32(tiff, 1)
	tiff = order.AppendUint16(tiff, turn)
	tiff = order.AppendUint16(tiff, 0)
	field(0x8825, 4, 1, 38) // the GPS directory
	tiff = order.AppendUint32(tiff, 0)
	tiff = order.AppendUint16(tiff, 2)
	field(0x0001, 2, 2, 'N')
	field(0x001c, 2, 32, 68) // GPSAreaInformation
	tiff = order.AppendUint32(tiff, 0)
	tiff = append(tiff, secretPlace+strings.Repeat("\x00", 32-len(secretPlace))...)
	segment := append([]byte("Exif\x00\x00"), tiff...)
	out := append([]byte{}, jpg[:2]...)
	out = append(out, 0xff, 0xe1)
	out = binary.BigEndian.AppendUint16(out, uint16(len(segment)+2))
	out = append(out, segment...)
	comment := []byte(secretPlace)
	out = append(out, 0xff, 0xfe)
	out = binary.BigEndian.AppendUint16(out, uint16(len(comment)+2))
	out = append(out, comment...)
	return append(out, jpg[2:]...)
}

const secretPlace = "52.5123N 13.4567W barn"

// segments lists the markers of a JPEG up to its picture, as ITU-T T.81, annex
// B.1 has them.
func segments(t testing.TB, data []byte) (list []byte) {
	t.Helper()
	for at := 2; ; {
		if at+4 > len(data) || data[at] != 0xff {
			t.Fatalf("no marker at byte %d", at)
		}
		list = append(list, data[at+1])
		if data[at+1] == 0xda {
			return list
		}
		at += 2 + int(binary.BigEndian.Uint16(data[at+2:]))
	}
}

// A photo comes out upright for each of the eight ways a camera can be held, in
// both byte orders, and nothing beside the picture is left: of the segments of
// ITU-T T.81 only tables and frame, none for applications or comments. Where red
// lies is worked out from the text of Exif 2.32, 4.6.4, by hand.
func TestUprightAndBare(t *testing.T) {
	redAt := []string{1: "top left", 2: "top right", 3: "bottom right", 4: "bottom left", 5: "top left", 6: "top right", 7: "bottom right", 8: "bottom left"}
	for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
		for turn := 1; turn <= 8; turn++ {
			data := withExif(order, uint16(turn), asJPEG(t, corners(64, 32)))
			if !bytes.Contains(data, []byte(secretPlace)) {
				t.Fatal("nothing was planted")
			}
			p, err := Read(bytes.NewReader(data))
			if err != nil {
				t.Fatalf("%d: %v", turn, err)
			}
			for _, trace := range []string{secretPlace, "Exif", "13.4567"} {
				if bytes.Contains(p.Data, []byte(trace)) {
					t.Errorf("%d: %q is still in it", turn, trace)
				}
			}
			for _, marker := range segments(t, p.Data) {
				if marker >= 0xe0 && marker <= 0xef || marker == 0xfe {
					t.Errorf("%d: it has a segment %#x beside the picture", turn, marker)
				}
			}
			img, err := jpeg.Decode(bytes.NewReader(p.Data))
			if err != nil {
				t.Fatal(err)
			}
			w, h := img.Bounds().Dx(), img.Bounds().Dy()
			if (turn < 5) != (w == 64 && h == 32) || p.Width != w || p.Height != h {
				t.Errorf("%d: it is %d by %d", turn, w, h)
			}
			at := ""
			for name, p := range map[string]image.Point{"top left": {4, 4}, "top right": {w - 5, 4}, "bottom left": {4, h - 5}, "bottom right": {w - 5, h - 5}} {
				if r, g, b, _ := img.At(p.X, p.Y).RGBA(); r > 0xc000 && g < 0x4000 && b < 0x4000 {
					at = name
				}
			}
			if at != redAt[turn] {
				t.Errorf("orientation %d: red lies %q, want %q", turn, at, redAt[turn])
			}
		}
	}
}

// Noise compresses worst of all: even that stays under what is aimed at, and no
// side is longer than it may be.
func TestScaledDown(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	img := image.NewRGBA(image.Rect(0, 0, 2400, 1000))
	for i := range img.Pix {
		img.Pix[i] = uint8(random.Uint32())
	}
	var out bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.NoCompression}).Encode(&out, img); err != nil {
		t.Fatal(err)
	}
	p, err := Read(&out)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Data) > target || max(p.Width, p.Height) > longest || p.Type != JPEG {
		t.Errorf("%d bytes, %d by %d, %s", len(p.Data), p.Width, p.Height, p.Type)
	}
	if ratio := float64(p.Width) / float64(p.Height); ratio < 2.38 || ratio > 2.42 {
		t.Errorf("%d by %d is another shape than 2400 by 1000", p.Width, p.Height)
	}
	small, err := Small(p.Data, 160)
	if err != nil || small.Width != 160 || len(small.Data) > 20_000 {
		t.Errorf("thumbnail: %v, %v", small, err)
	}
}

// What is averaged is the mean of what falls together.
func TestAverage(t *testing.T) {
	img := image.NewGray(image.Rect(3, 5, 7, 7)) // its corner is not at the origin
	copy(img.Pix, []byte{0, 100, 10, 20, 40, 60, 30, 40})
	got := scaled(img, 2)
	if got.Rect != image.Rect(0, 0, 2, 1) || got.Pix[0] != 50 || got.Pix[4] != 25 {
		t.Errorf("%v: %v", got.Rect, got.Pix)
	}
	clear := image.NewNRGBA(image.Rect(0, 0, 1, 1)) // nothing there is white, as on paper
	if got := scaled(clear, 2).Pix[:3]; !bytes.Equal(got, []byte{255, 255, 255}) {
		t.Errorf("transparent: %v", got)
	}
}

// bomb is a PNG header of a huge picture (PNG 3rd edition, 11.2.1), and no more.
func bomb(w, h uint32) []byte {
	var out bytes.Buffer
	if err := png.Encode(&out, image.NewGray(image.Rect(0, 0, 1, 1))); err != nil {
		panic(err)
	}
	data := out.Bytes()
	binary.BigEndian.PutUint32(data[16:], w)
	binary.BigEndian.PutUint32(data[20:], h)
	binary.BigEndian.PutUint32(data[29:], crc(data[12:29]))
	return data
}

// crc is that of PNG 3rd edition, annex D.
func crc(data []byte) uint32 {
	c := ^uint32(0)
	for _, b := range data {
		c ^= uint32(b)
		for range 8 {
			if c&1 == 1 {
				c = 0xedb88320 ^ c>>1
			} else {
				c >>= 1
			}
		}
	}
	return ^c
}

type endless struct{ first []byte }

func (e *endless) Read(p []byte) (int, error) {
	n := copy(p, e.first)
	e.first = e.first[n:]
	return max(n, len(p)), nil
}

func TestRefused(t *testing.T) {
	good := asJPEG(t, corners(64, 32))
	for _, c := range []struct {
		name string
		in   io.Reader
		want string
	}{
		{"empty", strings.NewReader(""), "it is empty"},
		{"text", strings.NewReader("<script>"), "it is neither a JPEG nor a PNG photo nor a PDF"},
		{"heic", strings.NewReader("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00"), "it is a HEIC or video file, which cannot be read here"},
		{"without end", &endless{first: good}, "it has more than 32 MB, the most that is read"},
		{"pixel bomb", bytes.NewReader(bomb(60000, 60000)), "it is 60000 by 60000 pixels, more than is unfolded here"},
		{"cut short", bytes.NewReader(good[:len(good)/2]), "it is cut short or damaged (unexpected EOF)"},
		{"long PDF", strings.NewReader("%PDF-1.7" + strings.Repeat(" ", MaxPDF)), "this PDF has 4.0 MB, at most 4 MB are kept"},
	} {
		p, err := Read(c.in)
		var refused *Refused
		if !errors.As(err, &refused) || refused.Why != c.want || refused.Next == "" || p != nil {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	p, err := Read(strings.NewReader("%PDF-1.7\nan invoice"))
	if err != nil || p.Type != PDF || string(p.Data) != "%PDF-1.7\nan invoice" {
		t.Errorf("PDF: %v, %v", p, err)
	}
}

// Whatever the bytes, nothing but a paper or a refusal comes out.
func FuzzRead(f *testing.F) {
	var out bytes.Buffer
	_ = jpeg.Encode(&out, corners(16, 8), nil)
	f.Add(withExif(binary.LittleEndian, 6, out.Bytes()))
	f.Add(bomb(3, 3))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Read(bytes.NewReader(data))
		var refused *Refused
		if err != nil && !errors.As(err, &refused) {
			t.Fatal(err)
		}
		if err == nil && p.Type == JPEG {
			if _, err := jpeg.Decode(bytes.NewReader(p.Data)); err != nil {
				t.Fatal(err)
			}
		}
	})
}
