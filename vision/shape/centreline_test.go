package shape

import (
	"fmt"
	"math"
	"testing"
)

// Lengths along the axis from end to end, known by construction; every shape at 24 angles.
func TestCentreLineOfKnownShapes(t *testing.T) {
	taper := func(l, a, b float64) []XY { return []XY{{0, -a / 2}, {l, -b / 2}, {l, b / 2}, {0, a / 2}} }
	cases := []struct {
		name      string
		outline   []XY
		want, tol float64
	}{
		{"rectangle 20x5", rectangle(20, 5), 20, 0.001},
		{"rectangle 13x5", rectangle(13, 5), 13, 0.001},
		{"rectangle 8x5", rectangle(8, 5), 8, 0.001},
		{"straw 40x2", rectangle(40, 2), 40, 0.001},
		{"straw 60x1", rectangle(60, 1), 60, 0.001},
		{"ellipse 12x8", ellipse(12, 8, 200), 12, 0.005},
		{"ellipse 20x4", ellipse(20, 4, 200), 20, 0.005},
		{"slanted 30°, 20x5", strip(straight(20), 5, 30*deg), 20, 0.005},
		{"slanted 45°, 20x5", strip(straight(20), 5, 45*deg), 20, 0.005},
		{"slanted 45°, 14x5", strip(straight(14), 5, 45*deg), 14, 0.005},
		{"slanted 30°, 9x5", strip(straight(9), 5, 30*deg), 9, 0.005},
		{"arc of radius 15, 30x4", strip(arc(15, 30), 4, 0), 30, 0.005},
		{"arc of radius 10, 30x3", strip(arc(10, 30), 3, 0), 30, 0.005},
		{"arc of radius 10, 20x5", strip(arc(10, 20), 5, 0), 20, 0.005},
		{"arc of radius 6, 30x2", strip(arc(6, 30), 2, 0), 30, 0.005},
		{"arc of radius 15, 30x4, slanted 25°", strip(arc(15, 30), 4, 25*deg), 30, 0.005},
		{"arc of radius 8, 12x4", strip(arc(8, 12), 4, 0), 12, 0.005},
		{"arc of radius 15, 9x4", strip(arc(15, 9), 4, 0), 9, 0.005},
		{"triangle 30x4", taper(30, 4, 0), 30, 0.005},
		{"triangle 15x5", taper(15, 5, 0), 15, 0.005},
		{"taper 30, 4 to 2", taper(30, 4, 2), 30, 0.005},
		{"taper 14, 12 to 4", taper(14, 12, 4), 14, 0.01},
		{"bar 20x5.5 with a spur", spurred(), 20, 0.02}, // the spur leads the line astray
		{"fork", fork(), 32, 0.025},                     // where the axes meet is a matter of definition, to about half a width
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			for k := range 24 {
				got, line := CentreLine(turned(c.outline, float64(k)*15.45*deg))
				if math.Abs(got/c.want-1) > c.tol {
					t.Errorf("turned by %d steps: length %.3f, want %.3f within %.1f %%", k, got, c.want, 100*c.tol)
				}
				if l := Length(line); math.Abs(l-got) > 1e-9*got {
					t.Errorf("turned by %d steps: line of length %.3f beside a length of %.3f", k, l, got)
				}
			}
		})
	}
}

// spurred is a bar 20 long, 7.1 wide at one end and 3.9 at the other, with a spur 1.9 long and 0.6 wide on its side, as of a speck beside it.
func spurred() []XY {
	return []XY{{0, -3.55}, {9, -2.83}, {9, -4.75}, {9.6, -4.75}, {9.6, -2.83}, {20, -1.95}, {20, 1.95}, {0, 3.55}}
}

// fork is a stem 20 long and 3 wide with branches 12 and 6 long, 2 wide, 25° to either side.
func fork() []XY {
	long, short := XY{math.Cos(25 * deg), math.Sin(25 * deg)}, XY{math.Cos(25 * deg), -math.Sin(25 * deg)}
	at := XY{20, 0}
	tip := func(u XY, l, side float64) XY { return add(at, add(mul(u, l), mul(XY{-u[1], u[0]}, side))) }
	crotch := XY{20 + 1/math.Sin(25*deg), 0} // where the inner sides meet
	return []XY{{0, 1.5}, {0, -1.5}, {19.5, -1.5}, tip(short, 6, -1), tip(short, 6, 1), crotch,
		tip(long, 12, -1), tip(long, 12, 1), {19.5, 1.5}}
}

func TestCentreLineRunsThroughTheMiddle(t *testing.T) {
	_, line := CentreLine(strip(arc(15, 30), 4, 0))
	centre := XY{0, 15}
	for _, p := range line {
		if r := dist(p, centre); math.Abs(r-15) > 0.15 {
			t.Errorf("point %.2f lies %.2f from the bend's centre, want 15 ± 0.15", p, r)
		}
	}
}

func TestCentreLineOfDegenerateOutlines(t *testing.T) {
	for _, c := range []struct {
		o    []XY
		want float64
	}{
		{nil, 0}, {[]XY{{1, 1}}, 0}, {[]XY{{1, 1}, {4, 5}}, 5}, {[]XY{{0, 0}, {3, 4}, {6, 8}}, 10}, {[]XY{{1, 1}, {1, 1}, {1, 1}}, 0},
		{[]XY{{0, 0}, {math.NaN(), 1}, {1, 1}}, 0}, {[]XY{{0, 0}, {math.Inf(1), 1}, {1, 1}}, 0},
	} {
		if got, _ := CentreLine(c.o); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("CentreLine(%v) = %v, want %v", c.o, got, c.want)
		}
	}
}

func BenchmarkCentreLine(b *testing.B) {
	for _, n := range []int{30, 100, 400} {
		o := Resample(turned(strip(arc(15, 30), 4, 0.2), 0.4), 68/float64(n))
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if l, _ := CentreLine(o); math.Abs(l-30) > 0.3 {
					b.Fatalf("length %.2f, want 30", l)
				}
			}
		})
	}
}
