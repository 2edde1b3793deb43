// Package photo makes a paper fit to be kept out of a file: a photo is turned
// upright, scaled down and written anew; a PDF is kept as it is.
//
// A photo is decoded to its colours and encoded from them, so that nothing else
// of the file survives: not where and when it was taken, by which camera, nor a
// small copy of what was cut away. Its size is looked at before it is read, and
// its width and height before it is decoded, so that neither a long file nor a
// short one that unfolds to a huge picture fills the memory.
//
// The package knows nothing of books. It touches no file: callers give a reader.
package photo

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"io"
)

// Limits.
const (
	MaxFile  = 32 << 20  // bytes of a photo as it comes from a camera
	MaxPDF   = 4 << 20   // bytes of a PDF; that of a paper in ledger/FORMAT.md
	MaxBytes = 200 << 20 // bytes of a picture once it is decoded: 50 million pixels of 4 bytes

	longest = 1600    // pixels of the longer side as it is kept
	target  = 300_000 // bytes that a kept photo is to stay under
)

// Types of what is kept.
const (
	JPEG = "image/jpeg"
	PDF  = "application/pdf"
)

// Paper is what is kept of a file.
type Paper struct {
	Type          string
	Data          []byte
	Width, Height int // of a photo
}

// Refused says why a file is not taken, and what to do instead.
type Refused struct{ Why, Next string }

func (e *Refused) Error() string { return e.Why }

const accepted = "take a JPEG or PNG photo, or a PDF of at most 4 MB"

func refuse(next, format string, a ...any) error {
	return &Refused{Why: fmt.Sprintf(format, a...), Next: next}
}

// Read makes a paper of what r holds. The error is *[Refused], or of r.
func Read(r io.Reader) (*Paper, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxFile+1))
	if err != nil {
		return nil, err
	}
	switch {
	case len(data) > MaxFile:
		return nil, TooLong()
	case len(data) == 0:
		return nil, refuse(accepted, "it is empty")
	case bytes.HasPrefix(data, []byte("%PDF-")):
		return pdf(data)
	case bytes.HasPrefix(data, []byte("\xff\xd8\xff")):
		return picture(data, jpeg.DecodeConfig, jpeg.Decode, orientation(data))
	case bytes.HasPrefix(data, []byte("\x89PNG\r\n\x1a\n")):
		return picture(data, png.DecodeConfig, png.Decode, upright)
	case len(data) > 12 && string(data[4:8]) == "ftyp":
		return nil, refuse("set the phone's camera to its most compatible format (JPEG), or send the photo to yourself as JPEG", "it is a HEIC or video file, which cannot be read here")
	}
	return nil, refuse(accepted, "it is neither a JPEG nor a PNG photo nor a PDF")
}

// TooLong is the error for a file above [MaxFile].
func TooLong() error {
	return refuse("take a smaller photo: a few megapixels are plenty", "it has more than %d MB, the most that is read", MaxFile>>20)
}

func pdf(data []byte) (*Paper, error) {
	if len(data) > MaxPDF {
		return nil, refuse("scan it in grey at 150 dpi, or photograph it: a photo is scaled down", "this PDF has %.1f MB, at most %d MB are kept", float64(len(data))/(1<<20), MaxPDF>>20)
	}
	return &Paper{Type: PDF, Data: data}, nil
}

func picture(data []byte, config func(io.Reader) (image.Config, error), decode func(io.Reader) (image.Image, error), turn int) (*Paper, error) {
	c, err := config(bytes.NewReader(data))
	if err != nil {
		return nil, damaged(err)
	}
	pixels := int64(c.Width) * int64(c.Height)
	if c.Width < 1 || c.Height < 1 {
		return nil, refuse(accepted, "it has no width or height")
	}
	if pixels*int64(depth(c)) > MaxBytes {
		return nil, refuse("take it at a lower resolution: a few megapixels are plenty", "it is %d by %d pixels, more than is unfolded here", c.Width, c.Height)
	}
	img, err := decode(bytes.NewReader(data))
	if err != nil {
		return nil, damaged(err)
	}
	return keep(img, turn)
}

func damaged(err error) error {
	var unsupported jpeg.UnsupportedError
	if errors.As(err, &unsupported) {
		return refuse("open it in any picture program and save it as JPEG", "it is of a form that cannot be read here (%v)", err)
	}
	return refuse("take it again, or copy it from the phone again", "it is cut short or damaged (%v)", err)
}

// keep scales a picture down until it is small enough, and encodes it. Where
// nothing helps, a photo may be larger than aimed at, and never large.
func keep(img image.Image, turn int) (*Paper, error) {
	for long := longest; ; long = long * 4 / 5 {
		small := turned(scaled(img, long), turn)
		for quality := 80; quality >= 50; quality -= 10 {
			var out bytes.Buffer
			if err := jpeg.Encode(&out, small, &jpeg.Options{Quality: quality}); err != nil {
				return nil, err
			}
			if out.Len() <= target || quality == 50 && long < longest/4 {
				size := small.Bounds().Size()
				return &Paper{Type: JPEG, Data: out.Bytes(), Width: size.X, Height: size.Y}, nil
			}
		}
	}
}

// Small makes a thumbnail of a kept photo, at most long pixels wide and high.
func Small(data []byte, long int) (*Paper, error) {
	c, err := jpeg.DecodeConfig(bytes.NewReader(data))
	if err != nil || int64(c.Width)*int64(c.Height)*4 > MaxBytes {
		return nil, errors.New("it is no photo that can be shown")
	}
	img, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	small := scaled(img, long)
	var out bytes.Buffer
	if err := jpeg.Encode(&out, small, &jpeg.Options{Quality: 60}); err != nil {
		return nil, err
	}
	size := small.Bounds().Size()
	return &Paper{Type: JPEG, Data: out.Bytes(), Width: size.X, Height: size.Y}, nil
}
