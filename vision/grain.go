package vision

import "math"

// A photo taken at dusk is grainy: each pixel has an error of its own, and specks of the tray look like fines. Where
// the grain of the work image exceeds clearGrain (standard deviation, L*), the image is smoothed by a Gaussian a pixel wider
// than brings it back to that (grain is rarely white: the camera has smoothed it before), and no wider than mostCalm, beyond which
// the smallest pieces would go. Limits from the tuning scenes.
const (
	clearGrain = 2.2
	mostCalm   = 1.8 // work px
)

// grain is the standard deviation of what neighbouring pixels do not share, L*: from the median second difference
// along the rows, whose variance is six times that of a pixel.
func (m *labImage) grain() float64 {
	var count [1024]int
	n := 0
	for y := 0; y < m.h; y += 3 {
		row := m.pix[3*y*m.w : 3*(y+1)*m.w]
		for x := 1; x+1 < m.w; x += 2 {
			d := int(row[3*x-3]) - 2*int(row[3*x]) + int(row[3*x+3])
			count[max(d, -d)]++
			n++
		}
	}
	half, sum := n/2, 0
	for d, c := range count {
		if sum+c > half {
			at := float64(d) + float64(half-sum)/float64(c) - 0.5 // within the step
			return 1.4826 * math.Max(at, 0) / math.Sqrt(6) * 100 / 255
		}
		sum += c
	}
	return 0
}

// calmSigma is the width of the Gaussian, work px, that the grain asks for: white noise falls by 2√π σ.
func calmSigma(grain float64) float64 {
	if grain <= clearGrain {
		return 0
	}
	return math.Min(grain/clearGrain/(2*math.SqrtPi)+1.0, mostCalm)
}

// calm smooths the work image where the photo is grainy.
func (wk *work) calm() {
	wk.sigma = calmSigma(wk.lab.grain())
	if wk.sigma == 0 {
		return
	}
	wk.bgr.smooth(wk.sigma)
	wk.bgr.toLab(&wk.lab)
}
