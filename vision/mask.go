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
// speak for a piece; and labels their n components from 0, -1 outside.
func (s *search) foreground() (mask []bool, labels []int32, n int) {
	w, h := s.work.lab.w, s.work.lab.h
	mask = make([]bool, w*h)
	strong := make([]bool, w*h)
	var across []netColumn
	if s.net != nil {
		across = s.net.columns(w)
	}
	for y := range h {
		row := netRow{}
		if s.net != nil {
			row = s.net.row(y)
		}
		for cx, in := range s.field.mask[min(y/cellPx, s.back.h-1)*s.back.w:][:s.back.w] {
			if !in {
				continue
			}
			end := (cx + 1) * cellPx
			if cx == s.back.w-1 {
				end = w
			}
			for x := cx * cellPx; x < end; x++ {
				i := y*w + x
				if s.net != nil && s.contrast[i] < contrastScale && s.net.piece[row.index+across[x].index] < 0.5 {
					continue
				}
				c := float32(s.contrast[i]) / contrastScale
				if s.net == nil {
					mask[i], strong[i] = c > weakLimit, c >= strongLimit
					continue
				}
				sum := odds(c, s.net.lerp(s.net.piece, &across[x], &row))
				mask[i], strong[i] = sum > 0, sum > sureOdds
			}
		}
	}
	s.follow(mask, strong)
	closeSpecks(mask, w, h)
	labels, n = s.dropWeak(mask, strong)
	return mask, labels, n
}

// sureOdds are log odds on which a piece may be built.
const sureOdds = 2.5

// odds adds up what contrast and network say of a work pixel.
func odds(contrast, net float32) float32 {
	return min((contrast-weakLimit)/contrastPerOdds, mostContrast) + min(max(net, -mostNet), mostNet)
}

// dropWeak removes components that are too small or nowhere sure, and labels the others.
func (s *search) dropWeak(mask, strong []bool) (labels []int32, kept int) {
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
	name := make([]int32, n)
	for l := range name {
		name[l] = -1
		if size[l] >= s.minPx && sure[l] >= max(s.minPx/4, 2) {
			name[l] = int32(kept)
			kept++
		}
	}
	for i, l := range labels {
		if l >= 0 {
			labels[i], mask[i] = name[l], name[l] >= 0
		}
	}
	return labels, kept
}

// closeSpecks fills single background pixels that are enclosed on at least three sides: noise in
// thin straws and highlights.
func closeSpecks(mask []bool, w, h int) {
	above, row := make([]bool, w), make([]bool, w) // as they were
	copy(above, mask)
	for y := 1; y < h-1; y++ {
		filled, below := mask[y*w:(y+1)*w], mask[(y+1)*w:(y+2)*w]
		copy(row, filled)
		for x := 1; x < w-1; x++ {
			left, right := row[x-1], row[x+1]
			if row[x] || !left && !right {
				continue
			}
			up, down := above[x], below[x]
			filled[x] = left && right && (up || down) || (left || right) && up && down
		}
		above, row = row, above
	}
}
