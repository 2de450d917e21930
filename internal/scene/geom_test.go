package scene

import (
	"math"
	"math/rand/v2"
	"testing"

	"gristmark/internal/result"

	"pgregory.net/rapid"
)

func box(w, h float64) []XY {
	return []XY{{-w / 2, -h / 2}, {w / 2, -h / 2}, {w / 2, h / 2}, {-w / 2, h / 2}}
}

func turned(p []XY, a float64) []XY {
	out := make([]XY, len(p))
	for i, q := range p {
		out[i] = rotate(q, math.Cos(a), math.Sin(a))
	}
	return out
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.Abs(got-want) > tol {
		t.Errorf("%s: %g, want %g ± %g", what, got, want, tol)
	}
}

// Closed forms: a rectangle of 20 × 5 at any angle; its diagonal is 20.615528.
func TestRectangleAtAnyAngle(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		p := turned(box(20, 5), rapid.Float64Range(0, 7).Draw(r, "angle"))
		largest, smallest, across := ferets(p)
		for _, v := range [][2]float64{{Area(p), 100}, {perimeter(p), 50}, {largest, 20.615528}, {smallest, 5}, {across, 20}} {
			if math.Abs(v[0]-v[1]) > 1e-6 {
				r.Fatalf("got %g, want %g", v[0], v[1])
			}
		}
	})
}

func TestGapOfOutlines(t *testing.T) {
	a := box(10, 4)
	moved := func(x, y float64) []XY {
		var out []XY
		for _, q := range box(2, 2) {
			out = append(out, add(q, XY{x, y}))
		}
		return out
	}
	near(t, "beside", gap(a, moved(9, 0)), 3, 1e-12)
	near(t, "corner to corner", gap(a, moved(9, 7)), 5, 1e-12)
	near(t, "inside", gap(a, moved(0, 0)), 0, 0)
	near(t, "crossing", gap(a, moved(5, 0)), 0, 0)
}

func TestProjectionOfKnownPoints(t *testing.T) {
	cam := camera{w: 2000, h: 1500, focal: 1500}
	cam.place(300, 0, 0, 0, XY{})
	// 60 mm beside the foot at 300 mm: 1500 · 60/300 = 300 px; 50 mm nearer: 1500 · 60/250 = 360 px.
	for _, c := range []struct{ z, want float64 }{{0, 300}, {50, 360}} {
		p := cam.project(60, 30, c.z)
		near(t, "x", p[0], 1000+c.want, 1e-9)
		near(t, "y", p[1], 750+c.want/2, 1e-9)
	}
	near(t, "mm per px", cam.mmPerPx(1000, 750), 0.2, 1e-9)
}

func TestGroundUndoesProject(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		draw := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(r, name) }
		cam := camera{w: 2000, h: 1500, focal: 1500, k1: draw(-0.1, 0.1, "k1")}
		cam.place(draw(150, 600, "height"), draw(0, 0.45, "tilt"), draw(0, 6.3, "way"), draw(-3.2, 3.2, "roll"), XY{draw(-20, 20, "x"), 0})
		p := XY{draw(-60, 60, "px"), draw(-40, 40, "py")}
		q := cam.project(p[0], p[1], 0)
		if d := dist(cam.ground(q[0], q[1]), p); d > 1e-4 {
			r.Fatalf("%.2g mm off", d)
		}
		cam.k1 = 0
		q = cam.project(p[0], p[1], 0)
		h := cam.homography()
		w := h[6]*p[0] + h[7]*p[1] + h[8]
		v := XY{(h[0]*p[0] + h[1]*p[1] + h[2]) / w, (h[3]*p[0] + h[4]*p[1] + h[5]) / w}
		if dist(q, v) > 1e-6 {
			r.Fatalf("homography is %g px off", dist(q, v))
		}
		// A point above the plane is seen over the ground that the lean says.
		z := draw(0, 6, "z")
		l := cam.lean(cam.ground(q[0], q[1]))
		up := add(p, scale(l, z))
		if s := cam.project(up[0], up[1], z); dist(s, q) > 1e-6 {
			r.Fatalf("the ray leaves the pixel by %g px", dist(s, q))
		}
	})
}

// A disc with a quarter round edge of full depth (radius r of disc, edge e, thickness t = 2e): volume by the washer integral
// 2∫π(r-e+√(e²-z²))² dz = 2π[(r-e)²e + (r-e)πe²/2 + 2e³/3].
func TestRoundedVolumeOfADisc(t *testing.T) {
	r, e := 4.0, 1.5
	want := 2 * math.Pi * ((r-e)*(r-e)*e + (r-e)*math.Pi*e*e/2 + 2*e*e*e/3)
	near(t, "volume", roundedVolume(math.Pi*r*r, 2*math.Pi*r, 2*e, e), want, 1e-6)
}

// Boxes through a 4.75 mm square hole: by their second longest side, or turned by 45°: a side-on plate w × t needs (w+t)/√2.
func TestPassingASquareHole(t *testing.T) {
	for _, c := range []struct {
		l, w, t float64
		want    bool
	}{{20, 4, 4, true}, {4.7, 4.7, 4.7, true}, {20, 6, 0.5, true}, {20, 6.5, 0.5, false}, {6, 6, 3, false}, {10.5, 7.3, 4.6, false}, {9, 5.2, 1, true}} {
		if got := passesSquare(turned(dense(box(c.l, c.w)), 0.3), c.t, 0.01, 4.75); got != c.want {
			t.Errorf("%g × %g × %g: %v", c.l, c.w, c.t, got)
		}
	}
}

// dense adds points along the sides.
func dense(p []XY) []XY {
	var out []XY
	for i, a := range p {
		for k := 0; k < 10; k++ {
			out = append(out, add(a, scale(sub(p[(i+1)%len(p)], a), float64(k)/10)))
		}
	}
	return out
}

// A bent strip's length is that of its centreline.
func TestStrawLengthFollowsTheBend(t *testing.T) {
	p := &piece{class: result.Stover, kind: kindStraw, thick: 0.5, centreline: arc(40, 1.2, 0)}
	p.strip(func(float64) float64 { return 1 }, 0, 0)
	p.measure()
	near(t, "length", p.length, 40, 1e-9)
	near(t, "area", p.area, 80, 0.4)
	chord := 2 * 40 / 1.2 * math.Sin(0.6)
	near(t, "chord", dist(p.centreline[0], p.centreline[len(p.centreline)-1]), chord, 0.05)
}

func TestLengthOfStubbyPieces(t *testing.T) {
	p := &piece{class: result.Stover, kind: kindLeaf, thick: 0.3, outline: box(20, 5)}
	p.measure()
	near(t, "slender: its extent", p.length, 20, 1e-9)
	p = &piece{class: result.Stover, kind: kindLeaf, thick: 0.3, outline: box(10, 8)}
	p.measure()
	near(t, "stubby: its diagonal", p.length, math.Hypot(10, 8), 1e-9)
	near(t, "width", p.width, 80/math.Hypot(10, 8), 1e-9)
}

func TestCutKeepsTheShareAsked(t *testing.T) {
	lot := DefaultLot()
	g := stream(8, 8)
	for i := 0; i < 200; i++ {
		k := drawGrain(&lot, g)
		if !k.cut(0.97, breakWay(g), g) {
			continue
		}
		near(t, "kept", k.share, 0.97, 0.02)
		near(t, "area", Area(k.outline)/Area(k.own), k.share, 1e-12)
		if len(k.outline) != len(k.fracture) {
			t.Fatal("edges and marks differ in number")
		}
	}
}

// A line counts from the edge to the edge, also where a vertex of it lies outside on either side.
func TestLengthWithin(t *testing.T) {
	line := []XY{{-15, 0.5}, {0, 0.5}, {15, 0.5}}
	near(t, "straight", lengthWithin(line, box(20, 5)), 20, 1e-9)
	bent := []XY{{-15, 0}, {0, 0}, {12, 9}}
	near(t, "bent", lengthWithin(bent, box(20, 5)), 10+2.5/0.6, 1e-9)
	near(t, "beside", lengthWithin([]XY{{-15, 4}, {15, 4}}, box(20, 5)), 0, 1e-9)
}

// A slab with slanted ends is as long as its middle line, whichever of its sides is longer.
func TestSlabsAreAsLongAsTheirMiddle(t *testing.T) {
	for seed := range uint64(40) {
		for _, c := range [][2]float64{{30, 6}, {6, 30}} {
			p := &piece{class: result.Stover, kind: kindLeaf, thick: 0.3}
			p.slab(c[0], c[1], 0, 0, rand.New(rand.NewPCG(seed, 1)))
			p.measure()
			// Smoothing rounds the ends, by less than 2 points 0.35 mm apart; a slant of 0.4 lengthens the middle by 8 %.
			if p.length < 29.2 || p.length > 32.6 {
				t.Errorf("seed %d, %v: %.2f mm", seed, c, p.length)
			}
		}
	}
}
