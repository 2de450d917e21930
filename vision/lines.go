package vision

import (
	"math"

	"gristmark/internal/result"
)

// discountLines takes the drawn grid out of the contrast: on the lines (photo px) the colour of the
// line and its mixtures with the bare tray count as background too.
func (s *search) discountLines(lines [][2]result.XY) {
	if len(lines) == 0 {
		return
	}
	on := s.linePixels(lines)
	ink, ok := s.inkColour(on)
	if !ok {
		return
	}
	for _, i := range on {
		x, y := i%s.work.lab.w, i/s.work.lab.w
		b := s.back.at((float64(x)+0.5)/cellPx, (float64(y)+0.5)/cellPx)
		v := s.work.lab.at(i)
		for t := float32(0.2); t <= 1.001; t += 0.2 {
			mix := [3]float32{b[0] + t*(ink[0]-b[0]), b[1] + t*(ink[1]-b[1]), b[2] + t*(ink[2]-b[2])}
			d := s.back.white.distance(v, mix) * contrastScale
			s.contrast[i] = min(s.contrast[i], uint8(min(255, d)))
		}
	}
}

// linePixels lists the work pixels within half a line's width of the lines, each once.
func (s *search) linePixels(lines [][2]result.XY) []int {
	w, h := s.work.lab.w, s.work.lab.h
	half := max(1, int(math.Ceil(0.35*s.pxPerMM)))
	seen := make([]bool, w*h)
	var out []int
	for _, l := range lines {
		ax, ay := l[0][0]/s.work.sx, l[0][1]/s.work.sy
		bx, by := l[1][0]/s.work.sx, l[1][1]/s.work.sy
		n := int(math.Hypot(bx-ax, by-ay)) + 1
		for k := range n + 1 {
			t := float64(k) / float64(n)
			x, y := int(ax+t*(bx-ax)), int(ay+t*(by-ay))
			for dy := -half; dy <= half; dy++ {
				for dx := -half; dx <= half; dx++ {
					if px, py := x+dx, y+dy; px >= 0 && py >= 0 && px < w && py < h && !seen[py*w+px] {
						seen[py*w+px] = true
						out = append(out, py*w+px)
					}
				}
			}
		}
	}
	return out
}

// inkColour is the colour of the line's core: the median over line pixels on cells that are bare,
// of those that differ most from the tray.
func (s *search) inkColour(on []int) (ink [3]float32, ok bool) {
	var vals [3][]float32
	for _, i := range on {
		x, y := i%s.work.lab.w, i/s.work.lab.w
		cell := min(y/cellPx, s.back.h-1)*s.back.w + min(x/cellPx, s.back.w-1)
		if !s.field.bare[cell] || s.contrast[i] < weakLimit*contrastScale {
			continue
		}
		v := s.work.lab.at(i)
		for k := range v {
			vals[k] = append(vals[k], v[k])
		}
	}
	if len(vals[0]) < 50 {
		return ink, false
	}
	for k := range vals {
		ink[k] = ranked(vals[k], len(vals[k])/2)
	}
	return ink, true
}
