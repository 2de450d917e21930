package calib

import (
	"math"

	"gristmark/internal/result"
)

// Lens is what is known of the camera before the photo is looked at; the zero value is nothing.
type Lens struct {
	FocalPx float64 // focal length in px of the photo at hand; 0 unknown
	FocalSD float64 // its relative standard deviation; 0 stands for 0.05 with a known focal length

	// From a camera profile; all zero without one. Distortion is OpenCV's k1, k2, p1, p2, k3.
	Profiled         bool
	FocalXPx         float64    // focal lengths along x and y, px of the photo at hand
	FocalYPx         float64    //
	CentreXPx        float64    // principal point, pixel centres at +0.5
	CentreYPx        float64    //
	Distortion       [5]float64 // k1, k2, p1, p2, k3
	CentreOffsetSDPx float64    // of the principal point; 0 stands for 10 px
}

// Focal35 is the focal length in px of a photo whose EXIF states a focal length in mm equivalent to
// a 36 x 24 mm frame. Makers compare the diagonal or the longer side; the two differ by 4 % on a
// 4:3 photo, and this is the mean of both: the standard deviation assumed of a known focal length covers it.
func Focal35(mm float64, widthPx, heightPx int) float64 {
	w, h := float64(widthPx), float64(heightPx)
	return mm * (math.Hypot(w, h)/math.Hypot(36, 24) + math.Max(w, h)/36) / 2
}

// Assumptions where nothing is known: the main camera of a phone is equivalent to some 26 mm, with
// a spread that takes in other phones and a little zoom (from memory, common practice).
const (
	assumedFocal35MM = 26
	assumedFocalSD   = 0.30
	knownFocalSD     = 0.05
)

// ideal takes out the profile's distortion: a px as the same camera without distortion would have
// it, with square pixels. Without a profile it is the px itself.
func (l Lens) ideal(px result.XY) result.XY {
	if !l.Profiled {
		return px
	}
	x0, y0 := (px[0]-l.CentreXPx)/l.FocalXPx, (px[1]-l.CentreYPx)/l.FocalYPx
	x, y := x0, y0
	for range 12 {
		dx, dy := l.bend(x, y)
		x, y = x0-(dx-x), y0-(dy-y)
	}
	return result.XY{l.CentreXPx + x*l.FocalPx, l.CentreYPx + y*l.FocalPx}
}

// real is the inverse of ideal.
func (l Lens) real(px result.XY) result.XY {
	if !l.Profiled {
		return px
	}
	x, y := l.bend((px[0]-l.CentreXPx)/l.FocalPx, (px[1]-l.CentreYPx)/l.FocalPx)
	return result.XY{l.CentreXPx + x*l.FocalXPx, l.CentreYPx + y*l.FocalYPx}
}

// bend applies the profile's distortion to a position in units of the focal length (Brown 1966 in
// the form of OpenCV's calibration).
func (l Lens) bend(x, y float64) (float64, float64) {
	k1, k2, p1, p2, k3 := l.Distortion[0], l.Distortion[1], l.Distortion[2], l.Distortion[3], l.Distortion[4]
	r2 := x*x + y*y
	radial := 1 + r2*(k1+r2*(k2+r2*k3))
	return x*radial + 2*p1*x*y + p2*(r2+2*x*x), y*radial + p1*(r2+2*y*y) + 2*p2*x*y
}
