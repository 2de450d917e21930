package vision

import (
	"fmt"
	"math"
	"slices"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// Limits beyond which a part is no piece of chopped maize (common practice: kernels stay below
// 16 mm, husk and leaf below 45 mm across, and nothing of the plant is black through and through).
const (
	mostWidthMM  = 45
	blackAreaMM2 = 110
	slabWidthMM  = 18 // leaves and stalks so wide do not end in four square corners
	lineWidthMM  = 1.6
	rimShare     = 0.5 // of the outline on the field's edge: a piece touches it, a rim follows it
	lineExtentMM = 70
)

// Limits of what may be a stain of the tray, and the probability of being nothing of the crop from which it is left out as one: of 499 such parts of 229
// rendered photos that were not fitted on, 90 of the 104 that are pieces stay below it and 1 of the 395 that are none.
const (
	stainShare    = 0.6 // of the usual contrast of this photo's pieces
	stainContrast = 24  // standard deviations; what exceeds it is never a stain
	stainAreaMM2  = 4
	stainAt       = 0.2
)

// foreign tells why a part is none of the crop's pieces; empty where it may be one.
func foreign(d *draft) string {
	rect, area := d.figure.box, d.figure.area
	switch {
	case d.inside.edgeShare > rimShare:
		return "the edge of tray or ruler"
	case d.onDark > 0.6:
		return "lying on another object"
	case rect.Width > lineExtentMM && 2*d.inside.depthMM < lineWidthMM*1.5:
		return "a drawn line"
	case rect.Width > mostWidthMM:
		return "an object larger than any piece"
	case rect.Width > slabWidthMM && area > 0.93*rect.Length*rect.Width:
		return "a rectangular object"
	case area > blackAreaMM2 && d.inside.mean[0] < 24 && d.inside.chroma < 9:
		return "a black object"
	case rect.Length > lineExtentMM && rect.Width < lineWidthMM && area > 0.6*rect.Length*rect.Width:
		return "a drawn line"
	}
	return ""
}

// dropForeign removes what is no piece whatever it may be named, and tells how many were left out, by kind. Of the others it marks those that are faint.
func dropForeign(drafts []draft) (kept []draft, dropped map[string]int) {
	dropped = map[string]int{}
	usual := usualContrast(drafts)
	for _, d := range drafts {
		if why := foreign(&d); why != "" {
			dropped[why]++
			continue
		}
		c := d.inside.contrast
		d.faint = c < stainContrast && c < stainShare*usual && d.figure.area < stainAreaMM2
		kept = append(kept, d)
	}
	return kept, dropped
}

// usualContrast is the median contrast of the parts, weighted by area, so that many stains do not
// pass for the usual.
func usualContrast(drafts []draft) float64 {
	type part struct{ contrast, area float64 }
	var ps []part
	var total float64
	for _, d := range drafts {
		a := math.Abs(shape.Area(d.seenMM))
		ps = append(ps, part{d.inside.contrast, a})
		total += a
	}
	slices.SortFunc(ps, func(a, b part) int {
		switch {
		case a.contrast < b.contrast:
			return -1
		case a.contrast > b.contrast:
			return 1
		}
		return 0
	})
	var run float64
	for _, p := range ps {
		if run += p.area; run >= total/2 {
			return p.contrast
		}
	}
	return 0
}

// foreignAt is the probability from which a part is left out as nothing of the crop: it is likelier that than anything else.
// Where more than mostForeign of the parts that are not surelyForeign would be expected to be foreign, they are no strewn stones but a
// crop unlike any that was fitted on: they stay, and are named as they may be. Of 578 rendered photos that were not fitted on, stones or none
// of them in view, 97 in 100 stay below it; one of sorghum grains is at twice as much.
const (
	foreignAt     = 0.5
	surelyForeign = 0.95
	mostForeign   = 0.08
)

// sorted is how many drafts keepCrop left out as stains and as other matter that is nothing of the crop, and how many it kept though they look so.
type sorted struct{ stains, alien, doubted int }

// keepCrop drops the drafts that are named foreign.
func keepCrop(drafts []draft) (kept []draft, n sorted) {
	limit := foreignFrom(drafts)
	for i := range drafts {
		switch p := drafts[i].pForeign; {
		case drafts[i].faint && p > stainAt:
			n.stains++
			continue
		case p > limit:
			n.alien++
			continue
		case p > foreignAt:
			n.doubted++
		}
		kept = append(kept, drafts[i])
	}
	return kept, n
}

// notes say what keepCrop did.
func (n sorted) notes() (notes []string) {
	if n.stains > 0 {
		notes = append(notes, fmt.Sprintf("left out as a faint stain: %d", n.stains))
	}
	if n.alien > 0 {
		notes = append(notes, fmt.Sprintf("left out as nothing of the crop (soil, stone, hair, water, rim): %d", n.alien))
	}
	if n.doubted > 0 {
		notes = append(notes, fmt.Sprintf("counted though they look like soil, stone or water: %d, too many to be strewn in; if this is chopped maize, look at their names, else rinse the sample and photograph it again", n.doubted))
	}
	return notes
}

// foreignFrom is the probability from which this photo's parts are left out, faint ones aside.
func foreignFrom(drafts []draft) float64 {
	expected, all := 0.0, 0.0
	for i := range drafts {
		if p := drafts[i].pForeign; p <= surelyForeign && !drafts[i].faint {
			expected, all = expected+p, all+1
		}
	}
	if expected > mostForeign*all {
		return surelyForeign
	}
	return foreignAt
}

// onDarkObject is the share of the ring 1.5 mm outside the outline (work px) that is darker than any
// shade of the tray: the part lies on something that is not the tray, a chart or a lid.
func (s *search) onDarkObject(o []result.XY) float64 {
	tiles := s.tiles
	reach := 1.5 * s.pxPerMM
	n, dark := 0, 0
	step := max(1, len(o)/24)
	for i := 0; i < len(o); i += step {
		out := outward(o[(i+len(o)-2)%len(o)], o[(i+2)%len(o)])
		x, y := int(o[i][0]+reach*out[0]), int(o[i][1]+reach*out[1])
		if x < 0 || y < 0 || x >= s.work.lab.w || y >= s.work.lab.h {
			continue
		}
		n++
		shade := tiles.at(min(x/cellPx, s.back.w-1), min(y/cellPx, s.back.h-1))
		if v := s.work.lab.at(y*s.work.lab.w + x); v[0] < shade[len(shade)-1][0]-2 {
			dark++
		}
	}
	return float64(dark) / math.Max(1, float64(n))
}
