package pipeline

import (
	"gristmark/calib"
	"gristmark/internal/kernels"
	"gristmark/internal/result"
	"gristmark/vision"
)

// colouredFrom is the chance of a whole kernel from which a piece's colour is measured.
const colouredFrom = 0.5

// colour measures the colours of likely whole kernels against what of the photo is white.
func (f *Frame) colour(photo *vision.Photo, plane *calib.Plane) error {
	p := &f.Photo
	picture, err := pictureOf(photo)
	if err != nil {
		return err
	}
	p.White = kernels.White(picture, paperOf(plane), p.Field)
	if p.White == nil {
		return nil
	}
	for i := range p.Particles {
		q := &p.Particles[i]
		if q.PWhole < colouredFrom || len(q.OutlinePx) < 3 {
			continue
		}
		if lab, ok := kernels.MeanLabOn(picture, q.OutlinePx, p.White.SRGB); ok {
			q.ColourLab = &lab
		}
	}
	return nil
}

// paperOf are the outlines of the ruler if it is printed on paper, px; none else.
func paperOf(plane *calib.Plane) [][]result.XY {
	if sheet, _, _ := plane.Sheet(); sheet == "" {
		return nil
	}
	return plane.Exclude()
}
