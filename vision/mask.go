package vision

// Limits of the contrast, in standard deviations of the tray's surface: a piece is what exceeds
// weak everywhere and strong somewhere.
const (
	weakLimit   = 4.5
	strongLimit = 8
)

// foreground marks the work pixels that belong to pieces.
func foreground(contrast []uint8, w, h int, minPx int) []bool {
	mask := make([]bool, w*h)
	for i, c := range contrast {
		mask[i] = c >= weakLimit*contrastScale
	}
	closeSpecks(mask, w, h)
	labels, n := components(mask, w, h)
	size := make([]int, n)
	strong := make([]int, n)
	for i, l := range labels {
		if l >= 0 {
			size[l]++
			if contrast[i] >= strongLimit*contrastScale {
				strong[l]++
			}
		}
	}
	for i, l := range labels {
		if l >= 0 && (size[l] < minPx || strong[l] < max(minPx/4, 2)) {
			mask[i] = false
		}
	}
	return mask
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
