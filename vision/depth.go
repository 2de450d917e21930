package vision

// depths is each pixel's distance to the nearest one that no blob holds, 0 there. A pixel's nearest lies beside its own blob, so that each is looked at by itself:
// most of the picture is bare tray.
func depths(labels []int32, blobs []blob, w, h int) []float32 {
	out := make([]float32, w*h)
	for i := range blobs {
		b := &blobs[i]
		x0, y0, x1, y1 := max(b.x0-1, 0), max(b.y0-1, 0), min(b.x1+1, w), min(b.y1+1, h)
		bw := x1 - x0
		held := make([]bool, bw*(y1-y0))
		for y := y0; y < y1; y++ {
			for x, l := range labels[y*w+x0 : y*w+x1] {
				held[(y-y0)*bw+x] = l >= 0
			}
		}
		far := distanceTo(held, bw, y1-y0, false)
		for y := y0; y < y1; y++ {
			to, from := out[y*w+x0:y*w+x1], far[(y-y0)*bw:]
			for x, l := range labels[y*w+x0 : y*w+x1] {
				if l == b.label {
					to[x] = from[x]
				}
			}
		}
	}
	return out
}
