package outline

import (
	"math"
	"testing"

	"gristmark/internal/result"
)

func box(x0, y0, x1, y1 float64) Shape {
	return New([]result.XY{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}})
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.Abs(got-want) > tolerance {
		t.Errorf("%s: %v, want %v ± %v", what, got, want, tolerance)
	}
}

func TestArea(t *testing.T) {
	near(t, "box on raster rows", box(1.25, 2, 5.75, 4.5).Area(), 4.5*2.5, 1e-12)
	near(t, "triangle", New([]result.XY{{0, 0}, {8, 0}, {0, 8}}).Area(), 32, 1e-9) // the rows' middles are the mean of a straight side
	near(t, "two points", New([]result.XY{{0, 0}, {1, 1}}).Area(), 0, 0)
	near(t, "nothing", New(nil).Area(), 0, 0)

	var circle []result.XY
	for i := range 720 {
		sin, cos := math.Sincos(float64(i) * math.Pi / 360)
		circle = append(circle, result.XY{50 + 20*cos, 50 + 20*sin})
	}
	// 1e-3 of the area: the polygon's own loss is 1.3e-5 of it, the rows' the rest.
	near(t, "circle", New(circle).Area(), math.Pi*400, 1.3)
}

func TestIoU(t *testing.T) {
	a := box(0, 0, 10, 10)
	near(t, "itself", IoU(a, a), 1, 1e-12)
	near(t, "half beside", IoU(a, box(5, 0, 15, 10)), 1.0/3, 1e-12)
	near(t, "inside", IoU(a, box(0, 0, 10, 5)), 0.5, 1e-12)
	near(t, "apart", IoU(a, box(20, 0, 30, 10)), 0, 0)
	near(t, "touching", IoU(a, box(10, 0, 20, 10)), 0, 0)
	near(t, "nothing", IoU(a, New(nil)), 0, 0)

	u := New([]result.XY{{0, 0}, {9, 0}, {9, 9}, {6, 9}, {6, 3}, {3, 3}, {3, 9}, {0, 9}}) // 63 px²
	near(t, "across the arms of a U", Common(u, box(0, 5, 9, 7)), 12, 1e-12)
}

func TestClip(t *testing.T) {
	near(t, "half outside", box(-5, 2, 5, 4).Clip(100, 100).Area(), 10, 1e-12)
	near(t, "below", box(90, 95, 100, 110).Clip(100, 100).Area(), 50, 1e-12)
	near(t, "wholly outside", box(-9, -9, -2, -2).Clip(100, 100).Area(), 0, 0)
	near(t, "inside", box(1, 1, 2, 2).Clip(100, 100).Area(), 1, 1e-12)
}

func TestContains(t *testing.T) {
	u := New([]result.XY{{0, 0}, {9, 0}, {9, 9}, {6, 9}, {6, 3}, {3, 3}, {3, 9}, {0, 9}})
	for _, c := range []struct {
		p    result.XY
		want bool
	}{{result.XY{1, 5}, true}, {result.XY{4.5, 5}, false}, {result.XY{8, 8.9}, true}, {result.XY{4.5, 1}, true}, {result.XY{4.5, -1}, false}} {
		if got := u.Contains(c.p); got != c.want {
			t.Errorf("%v inside: %v", c.p, got)
		}
	}
}
