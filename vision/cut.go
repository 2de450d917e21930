package vision

import (
	"math"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// cutNames tell what describes a cut of a part in two along a neck; the fitted model stores them.
var cutNames = []string{
	"log neck / small inscribed", "log neck / large inscribed", "deepest turn", "other turn", "neck / arc",
	"solidity", "solidity gained", "log small share", "log small mm", "log neck mm", "log slenderness", "log small slenderness",
	"contact mean", "contact top", "valley", "colour step", "least kernel", "kernel step", "smoothness",
}

// hollowness is what cuts are held against, of the part before any.
type hollowness struct{ solidity, perimeter, hull float64 } // hull: area of the convex hull

func hollownessOf(p part) hollowness {
	solidity := shape.Solidity(p.outline)
	return hollowness{solidity, shape.Perimeter(p.outline), areaOf(p) / solidity}
}

// cutFeatures describes the cut n of a part into a and b.
func (s *splitter) cutFeatures(whole hollowness, a, b part, n neck) []float64 {
	areaA, areaB := math.Abs(shape.Area(a.outline)), math.Abs(shape.Area(b.outline))
	if areaA > areaB {
		a, b, areaA, areaB = b, a, areaB, areaA
	}
	all := areaA + areaB
	mm := s.pxPerMM
	sol, solA, solB := whole.solidity, shape.Solidity(a.outline), shape.Solidity(b.outline)
	// Hull area beyond the piece's own, before and after, over the piece's area.
	gained := all/math.Max(sol, 0.1) - areaA/math.Max(solA, 0.1) - areaB/math.Max(solB, 0.1)
	length, thick := shape.Geodesic(all, whole.perimeter)
	lengthA, thickA := shape.Geodesic(areaA, shape.Perimeter(a.outline))
	q := s.alongCut(n)
	return []float64{
		safeLog(n.length / (2*s.inscribed(a.outline) + 0.5)), safeLog(n.length / (2*s.inscribed(b.outline) + 0.5)),
		math.Max(-n.turn[0], -n.turn[1]), math.Min(-n.turn[0], -n.turn[1]), n.length / n.arc,
		sol, gained / all, safeLog(areaA / all), safeLog(math.Sqrt(areaA) / mm), safeLog(n.length / mm),
		safeLog(length / math.Max(thick, 1e-9)), safeLog(lengthA / math.Max(thickA, 1e-9)),
		q.contact, q.topContact, q.valley, q.step, math.Min(q.kernel[0], q.kernel[1]), math.Abs(q.kernel[0] - q.kernel[1]),
		float64(s.smooth),
	}
}

// besideCutMM is how far on both sides of a cut the colours are read.
const besideCutMM = 0.8

// cutLook is what the photo and the network show along a cut.
type cutLook struct {
	contact, topContact float64    // probability of contact: mean and largest
	valley              float64    // by how much the cut is darker than both sides, L* / 10
	step                float64    // CIE 1976 difference between the sides, / 10
	kernel              [2]float64 // mean probability of kernel on each side
}

func (s *splitter) alongCut(n neck) (q cutLook) {
	if s.lab == nil {
		return q
	}
	d := result.XY{(n.to[0] - n.from[0]) / n.length, (n.to[1] - n.from[1]) / n.length}
	off := besideCutMM * s.pxPerMM
	var on float64
	var side [2][3]float64
	var count [3]float64
	steps := max(3, int(n.length))
	for k := range steps {
		t := n.length * (float64(k) + 0.5) / float64(steps)
		c := result.XY{n.from[0] + t*d[0], n.from[1] + t*d[1]}
		if i, x, y, ok := s.maskAt(c); ok {
			on += float64(s.lab.at(i)[0])
			count[2]++
			if s.contact != nil {
				v := float64(s.contact.contactAt(x, y))
				q.contact += v
				q.topContact = math.Max(q.topContact, v)
			}
		}
		for e, sign := range [2]float64{-1, 1} {
			i, x, y, ok := s.maskAt(result.XY{c[0] - sign*off*d[1], c[1] + sign*off*d[0]})
			if !ok {
				continue
			}
			for ch, v := range s.lab.at(i) {
				side[e][ch] += float64(v)
			}
			count[e]++
			if s.contact != nil {
				q.kernel[e] += float64(s.contact.kernel[s.contact.index(x, y)])
			}
		}
	}
	for e := range side {
		for ch := range side[e] {
			side[e][ch] /= math.Max(count[e], 1)
		}
		q.kernel[e] /= math.Max(count[e], 1)
	}
	q.contact /= math.Max(count[2], 1)
	if count[0] > 0 && count[1] > 0 && count[2] > 0 {
		q.valley = (math.Min(side[0][0], side[1][0]) - on/count[2]) / 10
		q.step = math.Sqrt(math.Pow(side[0][0]-side[1][0], 2)+math.Pow(side[0][1]-side[1][1], 2)+math.Pow(side[0][2]-side[1][2], 2)) / 10
	}
	return q
}

// maskAt is the work pixel at p, if it belongs to a piece.
func (s *splitter) maskAt(p result.XY) (i, x, y int, ok bool) {
	x, y = int(p[0]), int(p[1])
	if x < 0 || y < 0 || x >= s.w || y >= s.h {
		return 0, x, y, false
	}
	i = y*s.w + x
	return i, x, y, s.depth[i] > 0
}
