package sieve

import (
	"fmt"
)

// Effective is physically effective fibre by one convention: NDF times the share on the sieves counted.
type Effective struct {
	Convention string  `json:"convention"`
	SieveMM    float64 `json:"sieve_mm"`
	SharePct   float64 `json:"share_pct"` // of mass on this sieve and above
	NDFPct     float64 `json:"ndf_pct"`   // as given, % of dry matter
	PeNDFPct   float64 `json:"pendf_pct"` // % of dry matter
}

// conventions of physically effective NDF, each named: 1.18 mm of Mertens 1997, J. Dairy Sci. 80:1463; 8 and
// 4 mm as later authors count, such as J. Anim. Sci. 2023, 101:skac322.
var conventions = []struct {
	name string
	mm   float64
}{{"8 mm", 8}, {"4 mm", 4}, {"1.18 mm (Mertens 1997)", 1.18}}

// PeNDF is NDF, %, times the share retained, %.
func PeNDF(ndfPct, sharePct float64) float64 { return ndfPct * sharePct / 100 }

// effective lists every convention that the stack can serve.
func effective(shakes []Shake, ndf float64) ([]Effective, error) {
	if !(ndf > 0 && ndf <= 100) {
		return nil, fmt.Errorf("sieve: NDF of %g %%; it must lie between 0 and 100 %% of dry matter", ndf)
	}
	var out []Effective
	for _, c := range conventions {
		if hasSieve(shakes[0].Openings(), c.mm) {
			s := share(retained(shakes, c.mm), totals(shakes)).Value
			out = append(out, Effective{Convention: c.name, SieveMM: c.mm, SharePct: s, NDFPct: ndf, PeNDFPct: PeNDF(ndf, s)})
		}
	}
	return out, nil
}

// topTwo is the share of the two upper boxes, %: the trade's index of effective fibre. Nil without sieves of
// 19 and 8 mm.
func topTwo(shakes []Shake) *Share {
	o := shakes[0].Openings()
	if !hasSieve(o, 19) || !hasSieve(o, 8) {
		return nil
	}
	s := share(retained(shakes, 8), totals(shakes))
	return &s
}

// BoxShares gives the content of the box, %, by part: top on 19 mm, middle on 8 mm, then lower on 4 mm (or on 1.18 mm
// in the older box) and the pan below. A stack with more sieves is added up. Box is the set of openings that
// targets name, empty where the stack has no such box.
func BoxShares(shakes []Shake) (parts map[string]Share, box string) {
	o := shakes[0].Openings()
	if !hasSieve(o, 19) || !hasSieve(o, 8) {
		return nil, ""
	}
	third := 0.0
	switch {
	case hasSieve(o, 4):
		third, box = 4, Boxes()[0]
	case hasSieve(o, 1.18):
		third, box = 1.18, Boxes()[1]
	default:
		box = Boxes()[0]
	}
	all := totals(shakes)
	on := func(fine, coarse float64) Share {
		a := retained(shakes, fine)
		if coarse > 0 {
			for i, m := range retained(shakes, coarse) {
				a[i] -= m
			}
		}
		return share(a, all)
	}
	parts = map[string]Share{"top": on(19, 0), "middle": on(8, 19), "top_middle": on(8, 0)}
	if third > 0 {
		parts["lower"], parts["pan"] = on(third, 8), on(0, third)
	}
	return parts, box
}
