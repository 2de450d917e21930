package vision

import (
	"math"
	"slices"
	"testing"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// cutAcross is a straw of the given length and width along x, in work px, from which the middle is missing: its left and right
// end, cut along the missing part's sides, and the square that lies across.
func cutAcross(length, width, gap float64) (left, right, over part) {
	end := func(x0, x1 float64, cutRight bool) part {
		var p part
		add := func(x, y float64, joint bool) {
			p.outline, p.joint = append(p.outline, result.XY{100 + x, 100 + y}), append(p.joint, joint)
		}
		for x := x0; x < x1; x++ {
			add(x, -width/2, false)
		}
		for y := -width / 2; y < width/2; y++ {
			add(x1, y, cutRight)
		}
		for x := x1; x > x0; x-- {
			add(x, width/2, false)
		}
		for y := width / 2; y > -width/2; y-- {
			add(x0, y, !cutRight)
		}
		return p
	}
	left, right = end(-length/2, -gap/2, true), end(gap/2, length/2, false)
	o := turned(rectangle(4*width, gap), math.Pi/2, result.XY{100, 100})
	over = part{outline: o, joint: make([]bool, len(o))}
	return left, right, over
}

func bridging() splitter {
	depth := make([]float32, 200*200)
	for i := range depth {
		depth[i] = 5
	}
	return splitter{depth: depth, w: 200, h: 200, pxPerMM: 6, minArea: 10}
}

// The area of what is joined is that of the uncut straw: 2 % for the corners, which an outline through whole px cuts.
func TestEndsUnderAnotherPieceAreOneStraw(t *testing.T) {
	s := bridging()
	left, right, over := cutAcross(120, 10, 14)
	got := s.bridge([]part{left, over, right})
	if len(got) != 2 {
		t.Fatalf("%d parts, not 2", len(got))
	}
	straw := slices.MaxFunc(got, func(a, b part) int { return int(shape.Perimeter(a.outline) - shape.Perimeter(b.outline)) })
	if area := math.Abs(shape.Area(straw.outline)); math.Abs(area-1200) > 24 {
		t.Errorf("the straw has %.0f px², not 1200", area)
	}
}

func TestEndsThatAreNotOneStrawStayApart(t *testing.T) {
	s := bridging()
	left, right, over := cutAcross(120, 10, 14)
	aside := right
	aside.outline = turned(right.outline, 0, result.XY{0, 9})
	_, turnedEnd, _ := cutAcross(120, 10, 14)
	for i, p := range turnedEnd.outline {
		turnedEnd.outline[i] = turned([]result.XY{{p[0] - 107, p[1] - 100}}, 0.9, result.XY{107, 100})[0]
	}
	small := part{outline: turned(rectangle(10, 14), math.Pi/2, result.XY{100, 100})}
	small.joint = make([]bool, len(small.outline))
	for name, parts := range map[string][]part{
		"to the side":       {left, over, aside},
		"at an angle":       {left, over, turnedEnd},
		"nothing across":    {left, right},
		"the next in a row": {left, small, right},
	} {
		if got := s.bridge(slices.Clone(parts)); len(got) != len(parts) {
			t.Errorf("%s: %d parts became %d", name, len(parts), len(got))
		}
	}
}

// Straws of one colour across each other, at every angle from 40° and in four proportions, are two, with the
// lengths of both within 4 %: the hidden sides are drawn straight.
func TestCrossingsAtManyAngles(t *testing.T) {
	n, right := 0, 0
	for _, angle := range []float64{40, 55, 70, 90, 115, 140} {
		for _, off := range []float64{0, 3} {
			o := [][]result.XY{
				turned(rectangle(26, 2.4), 0.3, result.XY{30, 30}),
				turned(rectangle(17, 1.8), 0.3+angle*math.Pi/180, result.XY{30 + off, 30 + 0.3*off}),
			}
			a := analysed(t, drawn(480, 480, 8, navy, o, green), level(1./8), DefaultOptions())
			n++
			if len(a.Particles) == 2 {
				l := []float64{a.Particles[0].LengthMM, a.Particles[1].LengthMM}
				slices.Sort(l)
				if math.Abs(l[0]-17) < 0.04*17 && math.Abs(l[1]-26) < 0.04*26 {
					right++
					continue
				}
			}
			t.Logf("%.0f°, %.0f mm off: %d pieces", angle, off, len(a.Particles))
		}
	}
	if right < n-1 {
		t.Errorf("%d of %d right", right, n)
	}
}
