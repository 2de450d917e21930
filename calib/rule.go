package calib

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"gristmark/internal/result"
)

// Limits of what counts as a rule.
const (
	rulePixels    = 0.6e6
	ruleLines     = 10   // long edges tried
	skewLines     = 3    // those beside which rows are tried askew
	shortestRule  = 0.15 // of the photo's diagonal
	minTicks      = 25   // that show
	minAnchors    = 6
	placeOrder    = 4
	flatMiss      = 0.05 // of the spacing, by which the ticks of a flat rule may miss
	maxTickMiss   = 0.10 // root mean square miss of the ticks over their spacing
	minCameraMM   = 50   // from where a tray is photographed: ticks alone fit any pitch
	maxCameraMM   = 1200 //
	ruleBodyMM    = 30   // left out beside the ticks
	minLongerTick = 5    // standard errors by which the longest ticks differ from those midway
)

// What is assumed of a rule, and the least that is asked of its scale.
const (
	RuleTiltSDDeg = 7    // of a photo taken by hand from above, about the rule's own axis
	RuleRiseMM    = 0.7  // of a rule's face over the tray: thickness (steel is 0.5 to 1 mm), and not lying flat
	MaxRuleSD     = 0.08 // relative: one line in the plane carries less than a card
)

// beatRow is a row beside a long edge that shows ticks.
type beatRow struct {
	beat
	strip *strip  // of three rows, the middle one the row itself
	d     float64 // px beside the edge
}

// findRule finds ticks of known pitch along a straight edge.
func findRule(p picture, spec Spec, lens Lens) (*Plane, error) {
	if unitOf(spec.PitchMM) == 0 {
		return nil, specError("a rule with ticks of %g mm: name its finest ticks, such as 1mm, 0.5mm, 10mm or 1/16in", spec.PitchMM)
	}
	best, err := bestRule(p, spec, func(result.XY) bool { return false })
	if err != nil {
		return nil, err
	}
	if best == nil {
		return nil, noRuler("no rule with ticks of %g mm in the photo; lay it flat, in focus, its ticks free of pieces", spec.PitchMM)
	}
	return best.plane(p, spec, lens)
}

// bestRule finds a rule with ticks of the pitch beside the longest edges, leaving out those that lie where skip
// says; nil without one. What takes longer comes later: rows that run askew of an edge, as the far edge of a rule
// does that is seen at an angle, and edges among clutter.
func bestRule(p picture, spec Spec, skip func(px result.XY) bool) (*ruleFit, error) {
	for _, fine := range []bool{false, true} {
		segments, err := p.segments(rulePixels, fine)
		if err != nil {
			return nil, err
		}
		lines := gather(segments, math.Hypot(float64(p.width), float64(p.height)))
		for _, l := range lines[:min(len(lines), ruleLines)] {
			if r := ruleBeside(&p, l, spec, skip); r != nil {
				return r.whole(&p, spec), nil
			}
		}
		for _, l := range lines[:min(len(lines), skewLines)] {
			for _, by := range []float64{-0.012, 0.012, -0.025, 0.025} {
				if r := ruleBeside(&p, l.turned(by), spec, skip); r != nil {
					return r.whole(&p, spec), nil
				}
			}
		}
	}
	return nil, nil
}

// whole reads the same row from end to end of the photo, where more ticks may show; it returns the rule itself where
// they do not.
func (r *ruleFit) whole(p *picture, spec Spec) *ruleFit {
	const step = 16 // px
	from, to := 0.0, float64(len(r.strip.light[0]))
	for p.shows(r.strip.at(from-step, r.d)) {
		from -= step
	}
	for p.shows(r.strip.at(to+step, r.d)) {
		to += step
	}
	s := strip{origin: r.strip.at(from, 0), dir: r.strip.dir, normal: r.strip.normal}
	b := findBeat(p.readRow(&s, int(to-from), r.d), fourier.NewFFT(spectrumPx))
	if b.quality == 0 {
		b = r.beat
		b.a += b.b * from
	}
	if w := measureRule(p, beatRow{b, p.readRows(&s, int(to-from), r.d), r.d}); w != nil && count(w.seen) > count(r.seen) && w.confirms(p, spec.PitchMM) {
		return w
	}
	return r
}

// turned is the line turned about its middle, radians.
func (l longLine) turned(by float64) longLine {
	lo, hi := l.extent()
	s, c := math.Sincos(by)
	d := l.dir()
	middle := add(result.XY{l.n[0] * l.c, l.n[1] * l.c}, d, (lo+hi)/2)
	l.line = lineThrough(middle, add(middle, result.XY{c*d[0] - s*d[1], s*d[0] + c*d[1]}, 1))
	return l
}

// extent is where along the line its parts begin and end, as measured by dot(dir, ·).
func (l *longLine) extent() (lo, hi float64) {
	d := l.dir()
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, s := range l.parts {
		for _, q := range []result.XY{s.a, s.b} {
			lo, hi = min(lo, dot(d, q)), max(hi, dot(d, q))
		}
	}
	return lo, hi
}

// ruleBeside finds the rule beside an edge: in the row that shows most ticks of those in which they are of the pitch.
func ruleBeside(p *picture, l longLine, spec Spec, skip func(px result.XY) bool) *ruleFit {
	var found []*ruleFit
	for _, row := range beatRows(p, l) {
		if r := measureRule(p, row); r != nil && !skip(r.strip.at(r.place(r.middle), r.d)) {
			found = append(found, r)
		}
	}
	slices.SortStableFunc(found, func(a, b *ruleFit) int { return count(b.seen) - count(a.seen) })
	for _, r := range found {
		if r.confirms(p, spec.PitchMM) {
			return r
		}
	}
	return nil
}

// Where rows are read beside a long edge, which may be the one that ticks stand on or the rule's other.
const (
	rowReach   = 0.16  // of the photo's diagonal
	rowStep    = 0.003 // of the same
	nearestRow = 3     // px: at an edge itself pixels make a beat of their own
	triedRows  = 3     // those with the steadiest beat
	alike      = 0.25  // of the period, by which windows of one row may differ
)

// beatRows reads the photo beside a long edge and returns the rows with the steadiest beat.
func beatRows(p *picture, l longLine) []beatRow {
	d := l.dir()
	lo, hi := l.extent()
	n := int(hi - lo)
	diagonal := math.Hypot(float64(p.width), float64(p.height))
	if n < 2*spectrumPx || float64(n) < shortestRule*diagonal {
		return nil
	}
	s := strip{origin: add(result.XY{l.n[0] * l.c, l.n[1] * l.c}, d, lo), dir: d, normal: result.XY{-d[1], d[0]}}
	fft := fourier.NewFFT(spectrumPx)
	var out []beatRow
	for at := nearestRow + 0.4*rowStep*diagonal; at < rowReach*diagonal; at += rowStep * diagonal {
		for _, side := range []float64{at, -at} {
			if !p.mayBeat(&s, n, side, fft) {
				continue
			}
			if b := findBeat(p.readRow(&s, n, side), fft); b.quality > 0 {
				out = append(out, beatRow{b, nil, side})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b beatRow) int { return compare(b.quality, a.quality) })
	out = out[:min(len(out), triedRows)]
	for i := range out {
		out[i].strip = p.readRows(&s, n, out[i].d)
	}
	return out
}

// mayBeat looks at three windows of a row: two of them have to show the same period.
func (p *picture) mayBeat(s *strip, n int, d float64, fft *fourier.FFT) bool {
	var periods []float64
	for k := range 3 {
		start := s.at(float64((n-spectrumPx)*(2*k+1)/6), d)
		if a := add(start, s.dir, spectrumPx); !p.shows(start) || !p.shows(a) {
			continue
		}
		window := strip{origin: start, dir: s.dir, normal: s.normal}
		if period, share := peakPeriod(highPass(p.readRow(&window, spectrumPx, 0)), fft); share > peakShare {
			periods = append(periods, period)
		}
	}
	for i, a := range periods {
		for _, b := range periods[:i] {
			if math.Abs(a-b) < alike*(a+b)/2 {
				return true
			}
		}
	}
	return false
}

func (p *picture) shows(q result.XY) bool {
	return q[0] > 0 && q[1] > 0 && q[0] < float64(p.width) && q[1] < float64(p.height)
}

// ruleFit is a rule whose ticks were read.
type ruleFit struct {
	beat        beat
	strip       *strip
	lean        [2]float64 // of ticks: px along the rule for each px across it, at the middle and more at the ends
	deep        strip      // the same line with rows as far as the longest ticks may reach
	d           float64    // row of the ticks, px beside the strip's line
	anchors     []tick     // places of ticks, each an average of its neighbours
	used        []bool
	first, last int    // numbers of the outermost ticks
	seen        []bool // whether each tick from first to last shows by itself
	// The place of a number is a polynomial of (number - middle) / half: perspective and lens bend it smoothly.
	poly         []float64
	middle, half float64
	missPx       float64
}

// measureRule reads the ticks of a row; nil unless they are many and even.
func measureRule(p *picture, r beatRow) *ruleFit {
	s := r.strip
	signal := make([]float64, len(s.light[0]))
	for _, row := range s.light {
		for i, v := range row {
			signal[i] += v
		}
	}
	flat := highPass(signal)
	darkTicks(flat)
	out := ruleFit{beat: r.beat, strip: s, d: r.d, anchors: r.anchors(flat)}
	period := r.period(float64(len(signal)) / 2)
	if len(out.anchors) < minAnchors || !out.fitNumbers() || out.missPx > maxTickMiss*period {
		return nil
	}
	out.look(flat)
	if n := count(out.seen); n < minTicks || 2*n < len(out.seen) {
		return nil
	}
	return &out
}

func count(v []bool) (n int) {
	for _, b := range v {
		if b {
			n++
		}
	}
	return n
}

// plane fits a view to the ticks; the tilt about the rule's own axis is a prior.
func (r *ruleFit) plane(p picture, spec Spec, lens Lens) (*Plane, error) {
	pr := priors(lens, p.width, p.height)
	pr.tiltSD = math.Sin(RuleTiltSDDeg * math.Pi / 180)
	start, ok := r.start(spec.PitchMM, lens, pr, p)
	if !ok {
		return nil, doubtful("the ticks do not fit a view from above")
	}
	f, whole, ok := r.flattest(start, pr, spec.PitchMM, lens)
	if !ok {
		return nil, doubtful("no camera explains the ticks")
	}
	out := finishPlane(p, f, lens, string(Rule), 1)
	rise := math.Hypot(RuleRiseMM/out.scale.CameraMM, r.bow(&f, p, lens))
	out.scale.RelativeSD = math.Hypot(out.scale.RelativeSD, rise)
	for i, ok := range r.seen {
		if ok {
			out.scale.MarksUsed++
		} else {
			out.scale.MarksDropped++
		}
		out.marks = append(out.marks, Mark{ID: -1, Outline: []result.XY{r.strip.at(r.place(float64(r.first+i)), r.d)}, Used: ok})
	}
	out.scale.Note = "from one rule: tilt about its own length cannot be seen and is taken as small"
	if !whole {
		out.scale.Note += "; part of it does not lie flat and was left out"
	}
	if f.strained(pr) || f.offCentre(pr) {
		return nil, doubtful("the ticks do not look like those of an even rule seen through a usual lens; use the card")
	}
	if h := out.scale.CameraMM; h < minCameraMM || h > maxCameraMM {
		return nil, doubtful("with ticks of %g mm the camera would be %.0f mm away; check the pitch", spec.PitchMM, h)
	}
	if out.scale.RelativeSD > MaxRuleSD {
		return nil, doubtful("the scale at the photo's middle is known to %.1f %% only (limit %.0f %%); lay the rule nearer to the middle", 100*out.scale.RelativeSD, 100*MaxRuleSD)
	}
	out.exclude = append(out.exclude, r.body(out, spec.PitchMM))
	return out, nil
}

// bow is what the unseen tilt adds to the scale's relative standard deviation beyond its slope. A rule whose image runs
// y focal lengths from the photo's middle leaves there, for a tilt a about its axis, a scale off by the factor
// (1 - y tan a) / sqrt(cos a): its logarithm is -y a + (1/4 - y²/2) a² and smaller terms.
func (r *ruleFit) bow(f *fitted, p picture, lens Lens) float64 {
	n := float64(len(r.strip.light[0]))
	row := lineThrough(lens.ideal(r.strip.at(0, r.d)), lens.ideal(r.strip.at(n, r.d)))
	y := row.distance(lens.ideal(result.XY{float64(p.width) / 2, float64(p.height) / 2})) / f.f
	a := RuleTiltSDDeg * math.Pi / 180
	return math.Sqrt(3) * math.Abs(0.25-y*y/2) * a * a // the root of the mean of a⁴ is √3 a²
}

// flattest fits the view to all of the rule, and where that leaves more than flatMiss of the spacing, as a
// tape's curled end does, to the part of it that a flat rule explains best.
func (r *ruleFit) flattest(start view, pr prior, pitch float64, lens Lens) (best fitted, whole, ok bool) {
	n := float64(len(r.anchors))
	spacing := math.Abs(r.place(r.middle+1) - r.place(r.middle))
	for _, part := range [][2]float64{{0, 1}, {0.15, 1}, {0, 0.85}, {0.3, 1}, {0, 0.7}, {0.2, 0.8}, {0.5, 1}, {0, 0.5}} {
		f, good := settle(start, r.observations(pitch, lens, int(part[0]*n), int(part[1]*n)), pr, 5, 0.5, finely)
		if !good {
			continue
		}
		if !ok || f.rms < 0.7*best.rms {
			best, ok, whole = f, true, part == [2]float64{0, 1}
		}
		if best.rms < flatMiss*spacing {
			break
		}
	}
	return best, whole, ok
}

// observations turns the anchors from one to another into lines across the rule, and the row into its axis.
func (r *ruleFit) observations(pitch float64, lens Lens, from, to int) []observation {
	var obs []observation
	for i, k := range r.anchors {
		if r.used[i] && i >= from && i < to {
			obs = append(obs, observation{
				px: lens.ideal(r.strip.at(k.t, r.d)), mm: result.XY{float64(k.n) * pitch, 0},
				dir: result.XY{0, 1}, out: result.XY{1, 0}, sd: math.Max(0.2, r.missPx),
			})
		}
	}
	const along = 12
	n := float64(len(r.strip.light[0]))
	for i := range along {
		obs = append(obs, observation{
			px:  lens.ideal(r.strip.at(n*(float64(i)+0.5)/along, r.d)),
			dir: result.XY{1, 0}, out: result.XY{0, 1}, sd: 1.5, mark: 1,
		})
	}
	return obs
}

// start is a view from straight above with the scale at the rule's middle.
func (r *ruleFit) start(pitch float64, lens Lens, pr prior, p picture) (view, bool) {
	mid := float64((r.first + r.last) / 2)
	a, b := lens.ideal(r.strip.at(r.place(mid), r.d)), lens.ideal(r.strip.at(r.place(mid+1), r.d))
	u := result.XY{(b[0] - a[0]) / pitch, (b[1] - a[1]) / pitch} // px per mm along x
	v := result.XY{-u[1], u[0]}
	x := mid * pitch
	h := [9]float64{u[0], v[0], a[0] - x*u[0], u[1], v[1], a[1] - x*u[1], 0, 0, 1}
	return startView(h, pr, p.width, p.height)
}

// body is what the rule covers, as far as can be told. The edge by which it was found is the one that the ticks
// stand on, or the other.
func (r *ruleFit) body(out *Plane, pitch float64) []result.XY {
	const longest, beside = 12, 2.0 // mm: of ticks with their numbers, and beside the rule
	first, last := float64(r.first)*pitch, float64(r.last)*pitch
	edge := out.ToMM(r.strip.at(float64(len(r.strip.light[0]))/2, 0))[1] // the ticks are at y = 0
	sign := math.Copysign(1, edge)
	near, far := edge+sign*beside, -sign*ruleBodyMM
	if math.Abs(edge) > longest {
		far = -sign * (longest/2 + beside)
	}
	return out.polygon([]result.XY{{first - 10, near}, {last + 10, near}, {last + 10, far}, {first - 10, far}})
}
