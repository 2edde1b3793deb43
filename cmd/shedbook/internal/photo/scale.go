package photo

import (
	"image"
	"image/color"
	"image/draw"
)

// depth is how many bytes a pixel takes once it is decoded, at most.
func depth(c image.Config) int {
	switch c.ColorModel {
	case color.RGBA64Model, color.NRGBA64Model, color.Gray16Model:
		return 8
	}
	return 4
}

// scaled makes a picture of at most long pixels each way, on white, by averaging
// the pixels that fall together; a smaller one keeps its size.
func scaled(img image.Image, long int) *image.RGBA {
	b := img.Bounds()
	w, h := b.Dx(), b.Dy()
	dw, dh := w, h
	if w > long || h > long {
		if w >= h {
			dw, dh = long, max(1, h*long/w)
		} else {
			dw, dh = max(1, w*long/h), long
		}
	}
	out := image.NewRGBA(image.Rect(0, 0, dw, dh))
	for y := range dh {
		top, bottom := y*h/dh, (y+1)*h/dh
		strip := image.NewRGBA(image.Rect(0, 0, w, bottom-top))
		draw.Draw(strip, strip.Rect, image.White, image.Point{}, draw.Src)
		draw.Draw(strip, strip.Rect, img, image.Pt(b.Min.X, b.Min.Y+top), draw.Over)
		for x := range dw {
			left, right := x*w/dw, (x+1)*w/dw
			var sum [3]int
			for sy := range bottom - top {
				row := strip.Pix[sy*strip.Stride+4*left : sy*strip.Stride+4*right]
				for i := 0; i < len(row); i += 4 {
					sum[0] += int(row[i])
					sum[1] += int(row[i+1])
					sum[2] += int(row[i+2])
				}
			}
			n := (bottom - top) * (right - left)
			at := out.PixOffset(x, y)
			for i := range sum {
				out.Pix[at+i] = uint8((sum[i] + n/2) / n)
			}
			out.Pix[at+3] = 255
		}
	}
	return out
}

// turned turns a picture upright. turn is the value of the tag Orientation of
// Exif 2.32 (4.6.4, 0x0112): where row 0 and column 0 of the stored picture lie.
func turned(img *image.RGBA, turn int) *image.RGBA {
	if turn <= upright || turn > 8 {
		return img
	}
	w, h := img.Rect.Dx(), img.Rect.Dy()
	size := image.Pt(w, h)
	if turn >= 5 {
		size = image.Pt(h, w)
	}
	out := image.NewRGBA(image.Rectangle{Max: size})
	for y := range h {
		for x := range w {
			dx, dy := x, y
			switch turn {
			case 2: // row 0 at the top, column 0 at the right
				dx = w - 1 - x
			case 3: // bottom, right
				dx, dy = w-1-x, h-1-y
			case 4: // bottom, left
				dy = h - 1 - y
			case 5: // left, top
				dx, dy = y, x
			case 6: // right, top
				dx, dy = h-1-y, x
			case 7: // right, bottom
				dx, dy = h-1-y, w-1-x
			case 8: // left, bottom
				dx, dy = y, w-1-x
			}
			copy(out.Pix[out.PixOffset(dx, dy):][:4], img.Pix[img.PixOffset(x, y):][:4])
		}
	}
	return out
}
