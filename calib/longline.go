package calib

import (
	"math"
	"slices"

	"gristmark/internal/result"
)

// longLine is a line with the pieces of it that show.
type longLine struct {
	line
	parts []segment
}

// gather joins segments that lie on one line, the longest first; both sides of a thin stroke join.
func gather(segments []segment, diagonal float64) []longLine {
	const most = 32
	var out []longLine
	used := make([]bool, len(segments))
	for i, s := range segments {
		if used[i] || s.length() < 0.025*diagonal || len(out) >= 5*most {
			continue
		}
		l := longLine{line: lineThrough(s.a, s.b)}
		for j := i; j < len(segments); j++ {
			q := segments[j]
			if used[j] || q.length() < 0.01*diagonal {
				continue
			}
			if math.Abs(cross(l.dir(), q.dir())) < 0.04 && math.Abs(l.distance(q.a)) < 0.006*diagonal && math.Abs(l.distance(q.b)) < 0.006*diagonal {
				l.parts = append(l.parts, q)
				used[j] = true
			}
		}
		l.refit()
		out = append(out, l)
	}
	slices.SortStableFunc(out, func(a, b longLine) int {
		return compare(b.weight(), a.weight())
	})
	return out[:min(len(out), most)]
}

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// refit lays the line through its parts by least squares across it, weighted by length.
func (l *longLine) refit() {
	d := l.dir()
	origin := l.parts[0].middle()
	var sw, st, sn, stt, stn float64
	for _, s := range l.parts {
		for _, q := range []result.XY{s.a, s.b} {
			t, n, w := dot(sub(q, origin), d), l.distance(q), s.length()
			sw, st, sn, stt, stn = sw+w, st+w*t, sn+w*n, stt+w*t*t, stn+w*t*n
		}
	}
	det := sw*stt - st*st
	if det <= 0 {
		return
	}
	a, b := (stt*sn-st*stn)/det, (sw*stn-st*sn)/det
	foot := add(origin, l.n, a-l.distance(origin))
	l.line = lineThrough(foot, add(foot, add(d, l.n, b), 1))
}

// weight is large for a line of few long pieces, and small for one of many short ones in a row.
func (l *longLine) weight() (sum float64) {
	for _, s := range l.parts {
		sum += s.length() * s.length()
	}
	return sum
}

// covered is the length that shows between two positions along the line, as measured by dot(dir, ·).
func (l *longLine) covered(from, to float64) float64 {
	d := l.dir()
	spans := make([][2]float64, 0, len(l.parts))
	for _, s := range l.parts {
		a, b := dot(d, s.a), dot(d, s.b)
		spans = append(spans, [2]float64{max(min(a, b), from), min(max(a, b), to)})
	}
	slices.SortFunc(spans, func(a, b [2]float64) int { return compare(a[0], b[0]) })
	total, end := 0.0, from
	for _, s := range spans {
		if s[1] > max(end, s[0]) {
			total += s[1] - max(end, s[0])
			end = s[1]
		}
	}
	return total
}

// shows is the share that shows of what the photo holds of the side from u to v; 0 where it holds too little of it.
func (l *longLine) shows(p picture, u, v result.XY) float64 {
	first, last, ok := p.within(u, v)
	if !ok || dist(first, last) < minInsideShare*dist(u, v) {
		return 0
	}
	d := l.dir()
	a, b := dot(d, first), dot(d, last)
	return l.covered(min(a, b), max(a, b)) / math.Abs(b-a)
}

// within is the part of the stretch from u to v that lies in the photo; false where none does.
func (p *picture) within(u, v result.XY) (first, last result.XY, ok bool) {
	from, to := 0.0, 1.0
	for axis, size := range [2]float64{float64(p.width), float64(p.height)} {
		step := v[axis] - u[axis]
		if step == 0 {
			if u[axis] < 0 || u[axis] > size {
				return u, v, false
			}
			continue
		}
		enter, leave := -u[axis]/step, (size-u[axis])/step
		from, to = max(from, min(enter, leave)), min(to, max(enter, leave))
	}
	return add(u, sub(v, u), from), add(u, sub(v, u), to), from < to
}
