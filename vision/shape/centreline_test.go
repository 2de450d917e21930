package shape

import (
	"fmt"
	"math"
	"testing"
)

// strip is the outline of a strip of the given width about a line, cut square to it at both ends, or
// slanted by the given angle from that.
func strip(line []XY, width, slant float64) []XY {
	var l, r []XY
	for i, p := range line {
		u := unit(sub(line[min(i+1, len(line)-1)], line[max(i-1, 0)]))
		v := XY{-u[1], u[0]}
		k := 0.0
		if i == 0 || i == len(line)-1 {
			k = math.Tan(slant) * width / 2
		}
		l = append(l, add(p, add(mul(v, width/2), mul(u, k))))
		r = append(r, sub(p, add(mul(v, width/2), mul(u, k))))
	}
	return append(l, reversed(r)...)
}

func straight(length float64) []XY { return []XY{{0, 0}, {length, 0}} }

func arc(radius, length float64) (line []XY) {
	for i := range 61 {
		s, c := math.Sincos(length / radius * float64(i) / 60)
		line = append(line, XY{radius * s, radius * (1 - c)})
	}
	return line
}

func turned(o []XY, angle float64) []XY {
	s, c := math.Sincos(angle)
	out := make([]XY, len(o))
	for i, p := range o {
		out[i] = XY{p[0]*c - p[1]*s + 31.7, p[0]*s + p[1]*c + 12.1}
	}
	return out
}

func rect(l, w float64) []XY { return []XY{{0, 0}, {l, 0}, {l, w}, {0, w}} }

func TestExplore(t *testing.T) {
	deg := math.Pi / 180
	cases := []struct {
		name string
		o    []XY
		want float64
	}{
		{"20x5", rect(20, 5), 20}, {"10x5", rect(10, 5), 10}, {"13x5", rect(13, 5), 13}, {"8x5", rect(8, 5), 8}, {"40x1", rect(40, 1), 40}, {"40x2", rect(40, 2), 40},
		{"slant45 20x5", strip(straight(20), 5, 45*deg), 20}, {"slant30 20x5", strip(straight(20), 5, 30*deg), 20}, {"slant45 14x5", strip(straight(14), 5, 45*deg), 14}, {"slant30 9x5", strip(straight(9), 5, 30*deg), 9},
		{"slant60 30x5", strip(straight(30), 5, 60*deg), 30},
		{"arc 15 30 4", strip(arc(15, 30), 4, 0), 30}, {"arc 10 30 3", strip(arc(10, 30), 3, 0), 30}, {"arc 10 20 5", strip(arc(10, 20), 5, 0), 20}, {"arc 6 30 2", strip(arc(6, 30), 2, 0), 30},
		{"arc 15 30 4 slant 30", strip(arc(15, 30), 4, .5), 30}, {"arc 8 16 4", strip(arc(8, 16), 4, 0), 16},
		{"triangle 30x4", []XY{{0, -2}, {30, 0}, {0, 2}}, 30}, {"triangle 15x5", []XY{{0, -2.5}, {15, 0}, {0, 2.5}}, 15},
		{"arc 8 12 4", strip(arc(8, 12), 4, 0), 12}, {"arc 8 12 4s", strip(arc(8, 12), 4, .4), 12}, {"arc 15 9 4", strip(arc(15, 9), 4, 0), 9}, {"arc 15 11 4", strip(arc(15, 11), 4, 0), 11}, {"arc 15 15 4", strip(arc(15, 15), 4, 0.4), 15}, {"husk 20 w8 .55", []XY{{0, -4 * 1.55}, {20, -4 * .45}, {20, 4 * .45}, {0, 4 * 1.55}}, 20}, {"husk 14 w8 .55", []XY{{0, -4 * 1.55}, {14, -4 * .45}, {14, 4 * .45}, {0, 4 * 1.55}}, 14}, {"husk 16 w8 .55 slant", []XY{{0, -4 * 1.55}, {14.5, -4 * .45}, {17.5, 4 * .45}, {0, 4 * 1.55}}, 16},
		{"taper 30 4-2", []XY{{0, -2}, {30, -1}, {30, 1}, {0, 2}}, 30},
	}
	for _, c := range cases {
		lo, hi := math.Inf(1), 0.0
		for a := range 24 {
			l, _ := CentreLine(turned(c.o, float64(a)*15*deg*1.03))
			lo, hi = min(lo, l), max(hi, l)
		}
		fmt.Printf("%-22s want %6.2f  got %7.3f .. %7.3f  (%+.2f%% .. %+.2f%%)\n", c.name, c.want, lo, hi, 100*(lo/c.want-1), 100*(hi/c.want-1))
	}
}

func BenchmarkCentreLine(b *testing.B) {
	for _, n := range []int{30, 100, 400} {
		o := Resample(turned(strip(arc(15, 30), 4, 0.2), 0.4), 68/float64(n))
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				CentreLine(o)
			}
		})
	}
}
