package vision

import (
	"testing"
)

// A shadow on a pale tray lies on the line from black to the tray's colour: across that colour it counts as tray, wherever the
// piece is darker and of another hue.
func TestHueStepOfShadow(t *testing.T) {
	tray, piece := [3]float32{190, 200, 205}, [3]float32{20, 120, 190} // B, G, R
	axis, size := hueStep(piece, tray)
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
		axis, size := hueStep(c[0], c[1])
		if want, all := lightStep(c[0], c[1]); axis != want || size != all {
			t.Errorf("%s: the step is %v, want %v", name, axis, want)
		}
	}
}
