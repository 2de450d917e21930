package calib

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"

	"gristmark/internal/result"
)

// Limits of what counts as a rule.
const (
	rulePixels    = 0.6e6
	ruleLines     = 10 // long edges tried
	minTicks      = 25 // that show
	minAnchors    = 6
	placeOrder    = 4
	flatMiss      = 0.05 // of the spacing, by which the ticks of a flat rule may miss
	maxTickMiss   = 0.10 // root mean square miss of the ticks over their spacing
	ruleSD        = 0.003
	maxRuleSD     = 0.05 // relative: one line in the plane carries less than a card
	minCameraMM   = 50   // from where a tray is photographed: ticks alone fit any pitch
	maxCameraMM   = 1200 //
	tiltSDDeg     = 4    // of a photo taken by hand from above, about the rule's own axis (assumed)
	ruleBodyMM    = 30   // left out beside the ticks
	minLongerTick = 4.5  // standard errors by which the longest ticks differ from those midway
)

// beatRow is a row beside a long edge that shows ticks.
type beatRow struct {
	beat
	strip *strip
	row   int
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

// bestRule finds the rule with most ticks of the pitch, leaving out those that lie where skip says; nil
// without one.
func bestRule(p picture, spec Spec, skip func(px result.XY) bool) (*ruleFit, error) {
	segments, err := p.segments(rulePixels, true)
	if err != nil {
		return nil, err
	}
	lines := gather(segments, math.Hypot(float64(p.width), float64(p.height)))
	var best *ruleFit
	for _, l := range lines[:min(len(lines), ruleLines)] {
		for _, row := range beatRows(&p, l) {
			if skip(row.strip.at(float64(len(row.strip.light[0]))/2, row.strip.rows[row.row])) {
				continue
			}
			if r := measureRule(&p, spec, row); r != nil && (best == nil || r.quality > best.quality) {
				best = r
			}
		}
	}
	return best, nil
}

// beatRows reads the photo beside a long edge and returns the rows with the steadiest beat: the best
// on either side of it.
func beatRows(p *picture, l longLine) []beatRow {
	d := l.dir()
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, s := range l.parts {
		for _, q := range []result.XY{s.a, s.b} {
			lo, hi = min(lo, dot(d, q)), max(hi, dot(d, q))
		}
	}
	n := int(hi - lo)
	if n < 2*spectrumPx {
		return nil
	}
	origin := add(result.XY{l.n[0] * l.c, l.n[1] * l.c}, d, lo)
	reach := 0.016 * math.Hypot(float64(p.width), float64(p.height))
	s := p.readStrip(origin, d, n, reach, 2)
	fft := fourier.NewFFT(spectrumPx)
	var sides [2]beatRow
	for i, row := range s.light {
		b := findBeat(row, fft)
		side := 0
		if s.rows[i] > 0 {
			side = 1
		}
		if b.quality > sides[side].quality {
			sides[side] = beatRow{b, &s, i}
		}
	}
	var out []beatRow
	for _, r := range sides {
		if r.quality > 0 {
			out = append(out, r)
		}
	}
	return out
}

// ruleFit is a rule whose ticks were read.
type ruleFit struct {
	strip       *strip
	deep        strip   // the same line with rows as far as the longest ticks may reach
	d           float64 // row of the ticks, px beside the strip's line
	anchors     []tick  // places of ticks, each an average of its neighbours
	used        []bool
	first, last int    // numbers of the outermost ticks
	seen        []bool // whether each tick from first to last shows by itself
	// The place of a number is a polynomial of (number - middle) / half: perspective and lens bend it smoothly.
	poly         []float64
	middle, half float64
	missPx       float64
	quality      float64
}

// measureRule reads the ticks of a row; nil unless they are many, even, and of the pitch named.
func measureRule(p *picture, spec Spec, r beatRow) *ruleFit {
	s := r.strip
	signal := make([]float64, len(s.light[r.row]))
	for k := max(0, r.row-1); k <= min(len(s.light)-1, r.row+1); k++ {
		for i, v := range s.light[k] {
			signal[i] += v
		}
	}
	flat := highPass(signal)
	darkTicks(flat)
	out := ruleFit{strip: s, d: s.rows[r.row], anchors: r.anchors(flat)}
	period := r.period(float64(len(signal)) / 2)
	if len(out.anchors) < minAnchors || !out.fitNumbers() || out.missPx > maxTickMiss*period {
		return nil
	}
	out.look(flat)
	// On usual rules the longest ticks of a unit are some seven spacings of millimetres long.
	out.deep = p.readStrip(s.at(0, out.d), s.dir, len(signal), 8*period, max(1, period/3))
	if n := count(out.seen); n < minTicks || 2*n < len(out.seen) || !out.confirms(spec.PitchMM) {
		return nil
	}
	out.quality = r.quality * float64(count(out.seen))
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
	pr.tiltSD = math.Sin(tiltSDDeg * math.Pi / 180)
	start, ok := r.start(spec.PitchMM, lens, pr, p)
	if !ok {
		return nil, doubtful("the ticks do not fit a view from above")
	}
	f, whole, ok := r.flattest(start, pr, spec.PitchMM, lens)
	if !ok {
		return nil, doubtful("no camera explains the ticks")
	}
	out := finishPlane(p, f, lens, string(Rule), 1)
	out.scale.RelativeSD = math.Hypot(out.scale.RelativeSD, ruleSD)
	for i, ok := range r.seen {
		if ok {
			out.scale.MarksUsed++
		} else {
			out.scale.MarksDropped++
		}
		out.marks = append(out.marks, Mark{ID: -1, Outline: []result.XY{r.strip.at(r.place(float64(r.first+i))+0.5, r.d)}, Used: ok})
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
	if out.scale.RelativeSD > maxRuleSD {
		return nil, doubtful("the scale at the photo's middle is known to %.1f %% only (limit %.0f %%); lay the rule nearer to the middle", 100*out.scale.RelativeSD, 100*maxRuleSD)
	}
	out.exclude = append(out.exclude, r.body(out, spec.PitchMM))
	return out, nil
}

// flattest fits the view to all of the rule, and where that leaves more than flatMiss of the spacing, as a
// tape's curled end does, to the part of it that a flat rule explains best.
func (r *ruleFit) flattest(start view, pr prior, pitch float64, lens Lens) (best fitted, whole, ok bool) {
	n := float64(len(r.anchors))
	spacing := math.Abs(r.place(r.middle+1) - r.place(r.middle))
	for _, part := range [][2]float64{{0, 1}, {0.15, 1}, {0, 0.85}, {0.3, 1}, {0, 0.7}, {0.2, 0.8}, {0.5, 1}, {0, 0.5}} {
		f, good := settle(start, r.observations(pitch, lens, int(part[0]*n), int(part[1]*n)), pr, 5, 0.5)
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
				px: lens.ideal(r.strip.at(k.t+0.5, r.d)), mm: result.XY{float64(k.n) * pitch, 0},
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

// body is what the rule covers, as far as can be told: from the ticks' edge inward.
func (r *ruleFit) body(out *Plane, pitch float64) []result.XY {
	first, last := float64(r.first)*pitch, float64(r.last)*pitch
	edge := out.ToMM(r.strip.at(float64(len(r.strip.light[0]))/2, 0))[1] // the edge; the ticks are at y = 0
	far, near := ruleBodyMM, edge-2.0
	y0, y1 := near, float64(far)
	if edge > 0 {
		y0, y1 = -float64(far), edge+2
	}
	return out.polygon([]result.XY{{first - 10, y0}, {last + 10, y0}, {last + 10, y1}, {first - 10, y1}})
}
