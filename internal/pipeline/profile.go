package pipeline

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"strings"

	"gristmark/calib"
	"gristmark/internal/intake"
)

// ProfileSchema names the version of the profile file.
const ProfileSchema = "gristmark.profile/1"

// CameraProfile is the profile of one camera and lens, as a file holds it. The camera model is OpenCV's, pixel
// centres at +0.5, for photos of WidthPx × HeightPx; photos of the same shape and another size are scaled.
type CameraProfile struct {
	Schema     string     `json:"schema"`
	Make       string     `json:"make"` // EXIF's; empty fits any
	Model      string     `json:"model"`
	LensName   string     `json:"lens"`
	FocalMM    float64    `json:"focal_mm"` // 0 fits any
	WidthPx    int        `json:"width_px"` // as the sensor stores it, longer side first for a phone
	HeightPx   int        `json:"height_px"`
	FocalXPx   float64    `json:"focal_x_px"`
	FocalYPx   float64    `json:"focal_y_px"`
	CentreXPx  float64    `json:"centre_x_px"`
	CentreYPx  float64    `json:"centre_y_px"`
	Distortion [5]float64 `json:"distortion"` // k1, k2, p1, p2, k3
	FocalSD    float64    `json:"focal_relative_sd"`
	CentreSDPx float64    `json:"centre_sd_px"`

	Name string `json:"-"` // of its file, for people
	key  string
}

// ReadProfile reads a profile file's content and checks it.
func ReadProfile(data []byte) (*CameraProfile, error) {
	p := &CameraProfile{}
	if err := json.Unmarshal(data, p); err != nil {
		return nil, fmt.Errorf("pipeline: the camera profile cannot be read: %w", err)
	}
	switch {
	case p.Schema != ProfileSchema:
		return nil, fmt.Errorf("pipeline: the camera profile has schema %q, want %q; make it anew with gristmark calibrate", p.Schema, ProfileSchema)
	case p.WidthPx < 1 || p.HeightPx < 1 || p.FocalXPx <= 0 || p.FocalYPx <= 0:
		return nil, fmt.Errorf("pipeline: the camera profile lacks its size or its focal length; make it anew with gristmark calibrate")
	}
	sum := sha256.Sum256(data)
	p.key = hex.EncodeToString(sum[:8])
	return p, nil
}

// Key names the profile's content.
func (p *CameraProfile) Key() string { return p.key }

// NameFor names the profile where it is of the photo's camera, else it is empty.
func (p *CameraProfile) NameFor(in *intake.Intake) string {
	if _, ok := p.Lens(in); !ok {
		return ""
	}
	return p.Name
}

// Lens is the lens for a photo that the profile's camera took in the profile's setting, held either way up.
func (p *CameraProfile) Lens(in *intake.Intake) (calib.Lens, bool) {
	if !agrees(p.Make, in.Make) || !agrees(p.Model, in.Model) || !agrees(p.LensName, in.Lens) {
		return calib.Lens{}, false
	}
	if p.FocalMM > 0 && in.FocalMM > 0 && math.Abs(p.FocalMM/in.FocalMM-1) > 0.01 {
		return calib.Lens{}, false
	}
	w, h := float64(in.WidthPx), float64(in.HeightPx)
	if in.Orientation >= 5 {
		w, h = h, w
	}
	s := w / float64(p.WidthPx)
	if math.Abs(h/float64(p.HeightPx)/s-1) > 0.01 {
		return calib.Lens{}, false // another shape: cropped, or turned without saying so
	}
	l := calib.Lens{
		Profiled: true, FocalSD: p.FocalSD, CentreOffsetSDPx: p.CentreSDPx * s, Distortion: p.Distortion,
		FocalXPx: p.FocalXPx * s, FocalYPx: p.FocalYPx * s, CentreXPx: p.CentreXPx * s, CentreYPx: p.CentreYPx * s,
	}
	turnLens(&l, in.Orientation, w, h)
	l.FocalPx = math.Sqrt(l.FocalXPx * l.FocalYPx)
	return l, true
}

// turnLens carries a lens from the stored picture of w × h px to the upright one. A mirror turns the sign of the
// tangential term along its axis; a quarter turn swaps the axes.
func turnLens(l *calib.Lens, orientation int, w, h float64) {
	flipX := func() { l.CentreXPx, l.Distortion[3] = w-l.CentreXPx, -l.Distortion[3] }
	flipY := func() { l.CentreYPx, l.Distortion[2] = h-l.CentreYPx, -l.Distortion[2] }
	swap := func() {
		l.CentreXPx, l.CentreYPx = l.CentreYPx, l.CentreXPx
		l.FocalXPx, l.FocalYPx = l.FocalYPx, l.FocalXPx
		l.Distortion[2], l.Distortion[3] = l.Distortion[3], l.Distortion[2]
	}
	switch orientation {
	case 2:
		flipX()
	case 3:
		flipX()
		flipY()
	case 4:
		flipY()
	case 5:
		swap()
	case 6: // stored left side is upright top: x' = h - y, y' = x
		flipY()
		swap()
	case 7:
		flipX()
		flipY()
		swap()
	case 8: // x' = y, y' = w - x
		flipX()
		swap()
	}
}

// agrees compares names that either side may not know.
func agrees(a, b string) bool {
	return a == "" || b == "" || strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b))
}
