package vision

// Limits of the contrast, in standard deviations of the tray's surface: a piece is what exceeds
// weak everywhere and strong somewhere.
const (
	weakLimit   = 4.5
	strongLimit = 8
)

// Weights of the two witnesses of a piece: the contrast against the modelled tray and the network.
const (
	contrastPerOdds = 2.0 // standard deviations of contrast that weigh as much as one unit of log odds
	mostContrast    = 8.0 // log odds at most from the contrast
	mostNet         = 4.0 // and from the network: what stands out clearly is never overruled
)

// foreground marks the work pixels that belong to pieces: those where contrast and network together
// speak for a piece.
func (s *search) foreground() []bool {
	w, h := s.work.lab.w, s.work.lab.h
	mask := make([]bool, w*h)
	strong := make([]bool, w*h)
	for y := range h {
		cells := min(y/cellPx, s.back.h-1) * s.back.w
		for x := range w {
			if !s.field.mask[cells+min(x/cellPx, s.back.w-1)] {
				continue
			}
			i := y*w + x
			sum, sure := s.odds(i, x, y)
			mask[i] = sum > 0
			strong[i] = sure
		}
	}
	closeSpecks(mask, w, h)
	s.dropWeak(mask, strong)
	return mask
}

// odds adds up what contrast and network say of a work pixel; sure tells that a piece may be built
// on it.
func (s *search) odds(i, x, y int) (sum float32, sure bool) {
	c := float32(s.contrast[i]) / contrastScale
	if s.net == nil {
		return c - weakLimit, c >= strongLimit
	}
	if c < 1 && s.net.piece[s.net.index(x, y)] < 0.5 {
		return -1, false
	}
	a := min((c-weakLimit)/contrastPerOdds, mostContrast)
	b := min(max(s.net.pieceAt(x, y), -mostNet), mostNet)
	return a + b, a+b > 2.5
}

// dropWeak removes components that are too small or nowhere sure.
func (s *search) dropWeak(mask, strong []bool) {
	labels, n := components(mask, s.work.lab.w, s.work.lab.h)
	size, sure := make([]int, n), make([]int, n)
	for i, l := range labels {
		if l >= 0 {
			size[l]++
			if strong[i] {
				sure[l]++
			}
		}
	}
	for i, l := range labels {
		if l >= 0 && (size[l] < s.minPx || sure[l] < max(s.minPx/4, 2)) {
			mask[i] = false
		}
	}
}

// closeSpecks fills single background pixels that are enclosed on at least three sides: noise in
// thin straws and highlights.
func closeSpecks(mask []bool, w, h int) {
	src := append([]bool(nil), mask...)
	for y := 1; y < h-1; y++ {
		for x := 1; x < w-1; x++ {
			i := y*w + x
			if src[i] {
				continue
			}
			n := 0
			for _, k := range [4]int{i - 1, i + 1, i - w, i + w} {
				if src[k] {
					n++
				}
			}
			mask[i] = n >= 3
		}
	}
}
