package rulers

import (
	"math"
	"testing"
)

// What a px shows is seen at that px, and straight from above the scale is height over focal length.
func TestCamera(t *testing.T) {
	c := newCamera(1200, 900, 900, 270, 0, 0, 0.3, XY{40, 20})
	if got := c.mmPerPx(); math.Abs(got-0.3) > 1e-9 {
		t.Errorf("scale %g", got)
	}
	c = newCamera(1200, 900, 900, 270, 0.35, 1.1, 2, XY{40, 20})
	c.bend = [2]float64{-0.06, 0.01}
	for _, px := range []XY{{600, 450}, {10, 20}, {1190, 880}, {700, 100}} {
		back := c.project(c.ground(px), 0)
		if math.Hypot(back[0]-px[0], back[1]-px[1]) > 1e-6 {
			t.Errorf("%v comes back at %v", px, back)
		}
	}
	// What is higher looks larger, about the point under the camera.
	foot := XY{c.eye[0], c.eye[1]}
	if a, b := c.project(foot, 0), c.project(foot, 30); math.Hypot(a[0]-b[0], a[1]-b[1]) > 1e-6 {
		t.Errorf("the foot moves from %v to %v", a, b)
	}
	a, b := c.project(XY{foot[0] + 20, foot[1]}, 27), c.project(XY{foot[0] + 20/0.9, foot[1]}, 0)
	if math.Hypot(a[0]-b[0], a[1]-b[1]) > 1e-6 {
		t.Errorf("a tenth of the height: %v, want %v", a, b)
	}
	if got := math.Abs(c.rot[2][2] - math.Cos(0.35)); got > 1e-12 {
		t.Errorf("tilt off by %g", got)
	}
}
