package vision

import (
	"math"
	"testing"

	"gristmark/internal/result"
)

// A shadow on a pale tray lies on the line from black to the tray's colour: across that colour it counts as tray, wherever the
// piece is darker and of another hue.
func TestHueStepOfShadow(t *testing.T) {
	tray, piece := [3]float32{190, 200, 205}, [3]float32{20, 120, 190} // B, G, R
	axis, size, _ := hueStep(piece, tray)
	for _, light := range []float32{1, 0.7, 0.4, 0.2} {
		shadow := [3]float32{light * tray[0], light * tray[1], light * tray[2]}
		off := [3]float32{shadow[0] - tray[0], shadow[1] - tray[1], shadow[2] - tray[2]}
		if d := dot3(off, axis) / size; d > 1e-4 || d < -1e-4 {
			t.Errorf("a shadow of %.0f %% of the light counts %.3f of the step to the piece, want 0", 100*light, d)
		}
	}
	whole, full := lightStep(piece, tray)
	half := [3]float32{-0.6 * tray[0], -0.6 * tray[1], -0.6 * tray[2]}
	if d := dot3(half, whole) / full; d < 0.5 {
		t.Errorf("without regard to hue the shadow counts %.2f of the step: this test shows nothing", d)
	}
}

// What is brighter than the tray, or grey on grey, is told by all of its light.
func TestHueStepKeepsPlainSteps(t *testing.T) {
	for name, c := range map[string][2][3]float32{
		"yellow on navy": {{30, 140, 200}, {60, 30, 15}},
		"grey on white":  {{90, 92, 94}, {200, 205, 210}},
		"on black":       {{30, 140, 200}, {0, 0, 0}},
	} {
		axis, size, _ := hueStep(c[0], c[1])
		if want, all := lightStep(c[0], c[1]); axis != want || size != all {
			t.Errorf("%s: the step is %v, want %v", name, axis, want)
		}
	}
}

// From the outer edge of a shadow that is wider than the first look reaches, the edge of the piece behind it is found.
func TestEdgeBehindShadow(t *testing.T) {
	const w, h, piece, shadow = 60, 9, 30, 33 // columns: piece, then its shadow, then tray
	e := edgeFinder{pix: make([]uint8, 3*w*h), w: w, h: h, contrast: make([]uint8, w*h), cw: w, ch: h, sx: 1, sy: 1}
	for i := range w * h {
		colour, contrast := [3]uint8{225, 228, 230}, uint8(2)
		switch x := i % w; {
		case x < piece:
			colour, contrast = [3]uint8{40, 150, 215}, 220
		case x < shadow:
			colour, contrast = [3]uint8{150, 152, 154}, 30
		}
		copy(e.pix[3*i:], colour[:])
		e.contrast[i] = contrast
	}
	at := result.XY{shadow - 0.4, 4.5}
	shift, ok := e.edgeAt(at, result.XY{1, 0}, firstReach)
	// Half a pixel: the profile is read every fifth of one, between pixels of sharp steps.
	if got := at[0] + shift; !ok || math.Abs(got-piece) > 0.5 {
		t.Errorf("edge at %.2f px, found %v, want %d; the shadow ends at %d", got, ok, piece, shadow)
	}
}
