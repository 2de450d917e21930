package scene

import (
	"image"

	"gristmark/internal/result"
)

// Masks are the label image (16 bit, id of the thing on top) and the class image (0 ground, 1 whole kernel, 2 broken
// kernel, 3 stover).
func (p *Picture) Masks() (labels *image.Gray16, classes *image.Gray) {
	r := p.Image.Rect
	labels, classes = image.NewGray16(r), image.NewGray(r)
	of := make([]uint8, len(p.Truth.Things)+1)
	for _, t := range p.Truth.Things {
		of[t.ID] = map[result.Class]uint8{result.WholeKernel: 1, result.BrokenKernel: 2, result.Stover: 3}[t.Class]
	}
	for i, v := range p.Labels {
		labels.Pix[2*i], labels.Pix[2*i+1] = uint8(v>>8), uint8(v)
		classes.Pix[i] = of[v]
	}
	return labels, classes
}

// Resized changes the number of pixels, not what is in view; blur keeps its share of the width.
func (s Settings) Resized(widthPx int) Settings {
	k := float64(widthPx) / float64(s.WidthPx)
	s.HeightPx = int(float64(s.HeightPx)*k + 0.5)
	s.WidthPx = widthPx
	for _, r := range []*Range{&s.Photo.DefocusPx, &s.Photo.MotionPx} {
		r[0], r[1] = r[0]*k, r[1]*k
	}
	return s
}
