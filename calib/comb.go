package calib

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/stat"

	"gristmark/internal/result"
)

// strip is the photo read along a line, in rows beside it.
type strip struct {
	origin, dir, normal result.XY // px; position t, d is origin + t dir + d normal
	rows                []float64 // d of each row, px
	light               [][]float64
}

// at is the photo's position of t along and d beside the line.
func (s *strip) at(t, d float64) result.XY { return add(add(s.origin, s.dir, t), s.normal, d) }

// readStrip reads n px along the line from origin, in rows at most reach px to both sides; outside the photo
// it reads grey.
func (p *picture) readStrip(origin, dir result.XY, n int, reach, every float64) strip {
	s := strip{origin: origin, dir: dir, normal: result.XY{-dir[1], dir[0]}}
	for d := -reach; d <= reach; d += every {
		s.rows, s.light = append(s.rows, d), append(s.light, p.readRow(&s, n, d))
	}
	return s
}

// readRows reads n px of a row of the strip and of its neighbours.
func (p *picture) readRows(of *strip, n int, d float64) *strip {
	s := strip{origin: of.origin, dir: of.dir, normal: of.normal}
	for _, e := range []float64{-1.5, 0, 1.5} {
		s.rows, s.light = append(s.rows, d+e), append(s.light, p.readRow(of, n, d+e))
	}
	return &s
}

// readRow reads n px of a row, d px beside the line: the green channel as stored, interpolated; 128 outside the photo.
func (p *picture) readRow(s *strip, n int, d float64) []float64 {
	row := make([]float64, n)
	q, end := s.at(0, d), s.at(float64(n), d)
	x, y := q[0]-0.5, q[1]-0.5 // where pixels have their middles
	if p.wellShows(q) && p.wellShows(end) {
		for i := range row {
			row[i] = p.toneWithin(x+float64(i)*s.dir[0], y+float64(i)*s.dir[1])
		}
		return row
	}
	for i := range row {
		row[i] = 128
		u, v := x+float64(i)*s.dir[0], y+float64(i)*s.dir[1]
		if u >= 0 && v >= 0 && u < float64(p.width-1) && v < float64(p.height-1) {
			row[i] = p.toneWithin(u, v)
		}
	}
	return row
}

// wellShows reports whether the photo shows a place and two px around it.
func (p *picture) wellShows(q result.XY) bool {
	return q[0] > 2 && q[1] > 2 && q[0] < float64(p.width-2) && q[1] < float64(p.height-2)
}

// toneWithin is the green channel between four pixels' middles; a pixel's own middle has whole numbers.
func (p *picture) toneWithin(x, y float64) float64 {
	ix, iy := int(x), int(y)
	fx, fy := x-float64(ix), y-float64(iy)
	i := iy*p.step + 3*ix + 1
	upper, lower := p.pix[i:i+4:i+4], p.pix[i+p.step:i+p.step+4]
	a := float64(upper[0])*(1-fx) + float64(upper[3])*fx
	b := float64(lower[0])*(1-fx) + float64(lower[3])*fx
	return a*(1-fy) + b*fy
}

// Spectra are taken over windows of this many px.
const (
	spectrumPx  = 256
	shortestPx  = 3.5 // periods that are looked for, px
	longestPx   = 50
	peakShare   = 0.30 // of a window's power in its peak, to count
	steadyShare = 0.45 // of windows whose period fits the row's, to count
)

// beat is the period that a row shows, changing evenly along it: log period = a + b t.
type beat struct {
	a, b    float64
	quality float64 // share of windows that fit times their mean share of power
	windows int     // that fit
}

func (b beat) period(t float64) float64 { return math.Exp(b.a + b.b*t) }

// findBeat looks for a steady period along a row; windows is 0 where there is none.
func findBeat(row []float64, fft *fourier.FFT) beat {
	var ts, logs, shares []float64
	total := 0
	flat := highPass(row)
	for start := 0; start+spectrumPx <= len(flat); start += spectrumPx / 2 {
		total++
		if period, share := peakPeriod(flat[start:start+spectrumPx], fft); share > peakShare {
			ts = append(ts, float64(start)+spectrumPx/2)
			logs = append(logs, math.Log(period))
			shares = append(shares, share)
		}
	}
	if len(ts) < 3 {
		return beat{}
	}
	// The commonest period first, then a straight line through its neighbours.
	mid := commonest(logs)
	keep := func(dev func(i int) float64, limit float64) (x, y []float64, sum float64) {
		for i := range ts {
			if math.Abs(dev(i)) < limit {
				x, y = append(x, ts[i]), append(y, logs[i])
				sum += shares[i]
			}
		}
		return x, y, sum
	}
	x, y, sum := keep(func(i int) float64 { return logs[i] - mid }, 0.12)
	var b beat
	for range 2 {
		if len(x) < 3 {
			return beat{}
		}
		b.a, b.b = stat.LinearRegression(x, y, nil, false)
		x, y, sum = keep(func(i int) float64 { return logs[i] - b.a - b.b*ts[i] }, 0.03)
	}
	b.windows = len(x)
	if share := float64(len(x)) / float64(total); len(x) >= 3 && share > steadyShare {
		b.quality = share * sum / float64(len(x))
		return b
	}
	return beat{}
}

// commonest is the value with most others within 3 %.
func commonest(v []float64) float64 {
	best, count := 0.0, -1
	for _, a := range v {
		n := 0
		for _, b := range v {
			if math.Abs(a-b) < 0.03 {
				n++
			}
		}
		if n > count {
			best, count = a, n
		}
	}
	return best
}

// highPass takes out what changes more slowly than the longest period.
func highPass(row []float64) []float64 {
	const half = longestPx / 2
	sum := make([]float64, len(row)+1)
	for i, v := range row {
		sum[i+1] = sum[i] + v
	}
	out := make([]float64, len(row))
	for i, v := range row {
		a, b := max(0, i-half), min(len(row), i+half+1)
		out[i] = v - (sum[b]-sum[a])/float64(b-a)
	}
	return out
}

// peakPeriod is the strongest period in a window, px, and its share of the power.
func peakPeriod(window []float64, fft *fourier.FFT) (period, share float64) {
	n := len(window)
	buf := make([]float64, n)
	for i, v := range window {
		buf[i] = v * (0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n)))
	}
	c := fft.Coefficients(nil, buf)
	lo, hi := int(math.Ceil(float64(n)/longestPx)), int(float64(n)/shortestPx)
	power := func(k int) float64 { return real(c[k])*real(c[k]) + imag(c[k])*imag(c[k]) }
	top, total := lo, 0.0
	for k := lo; k <= hi; k++ {
		total += power(k)
		if power(k) > power(top) {
			top = k
		}
	}
	if total < float64(n)*float64(n)*0.05 || top == lo || top == hi { // flat, or at the end of the range
		return 0, 0
	}
	a, b, d := cmplx.Abs(c[top-1]), cmplx.Abs(c[top]), cmplx.Abs(c[top+1])
	shift := 0.0
	if q := a - 2*b + d; q != 0 {
		shift = 0.5 * (a - d) / q
	}
	return float64(n) / (float64(top) + shift), (power(top-1) + power(top) + power(top+1)) / total
}

// tick is a place along the strip, px, and its number along the rule; numbers are whole.
type tick struct {
	n int
	t float64
}

// anchorPx is the distance between the places where the phase of a beat is read.
const anchorPx = 64

// anchors reads the phase of the beat in windows along the signal: in each, where the tick nearest to
// the window's middle is on the average of some twenty. Windows without a clear beat are left out.
func (b beat) anchors(flat []float64) []tick {
	var out []tick
	for start := 0; start+spectrumPx/2 <= len(flat); start += anchorPx {
		middle := float64(start) + spectrumPx/4
		period := b.period(middle)
		var sum complex128
		var power float64
		const n = spectrumPx / 2
		for i := range n {
			w := 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/n)
			v := w * flat[start+i]
			sum += complex(v, 0) * cmplx.Exp(complex(0, -2*math.Pi*(float64(start+i)-middle)/period))
			power += v * v
		}
		if coherence := cmplx.Abs(sum) * cmplx.Abs(sum) / (power*n + 1); coherence < 0.04 {
			continue
		}
		t := middle - period*cmplx.Phase(sum)/(2*math.Pi)
		number := 0
		if k := len(out); k > 0 {
			number = out[k-1].n + int(math.Round((t-out[k-1].t)/b.period((t+out[k-1].t)/2)))
		}
		out = append(out, tick{number, t})
	}
	return out
}

// darkTicks turns a signal so that ticks are positive.
func darkTicks(flat []float64) {
	if stat.Skew(flat, nil) < 0 {
		for i := range flat {
			flat[i] = -flat[i]
		}
	}
}

// shows reports whether there is a tick near a place, higher than least.
func shows(flat []float64, at, period, least float64) bool {
	a, b := max(0, int(at-0.3*period)), min(len(flat)-1, int(at+0.3*period)+1)
	for i := a; i <= b; i++ {
		if flat[i] > least {
			return true
		}
	}
	return false
}

// upper is the value that one in twenty exceeds.
func upper(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	return s[len(s)*95/100]
}
