package calib

import (
	"math"
	"math/rand/v2"

	"gristmark/internal/result"
)

// Limits of what counts as a grid.
const (
	minComb       = 0.35 // strength of the comb of either family
	minHits       = 0.30 // share of the places on lines where a line is found
	maxHalfHits   = 0.45 // hits midway between lines over hits on lines: more, and the pitch is finer
	minOddHits    = 0.30 // hits on every other line over hits on the rest: less, and the pitch may be coarser
	faintOddHits  = 0.20 // the same where those lines are faint, yet hit more often than
	overBetween   = 3    // so many times what is hit midway between lines
	mostGridMarks = 400
)

// gridPixels are the sizes of the copies in which lines are looked for: lines a few px apart need the second.
var gridPixels = []float64{0.8e6, 2.1e6}

// attempts are tried in turn: the lens's distortion as displacement at half the diagonal, none or a strong barrel, and
// the closest lines that are looked for, px of the photo. Close lines come second: halves of wide squares look like them.
var attempts = []struct{ bend, closestPx float64 }{{0, 20}, {0, 11}, {-0.05, 20}, {-0.05, 11}}

// findGrid finds a drawn grid of square cells of known pitch.
func findGrid(p picture, spec Spec, lens Lens) (*Plane, error) {
	var first error
	for _, pixels := range gridPixels {
		segments, err := p.segments(pixels, false)
		if err != nil {
			return nil, err
		}
		for _, a := range attempts {
			if a.bend != 0 && lens.Profiled {
				continue
			}
			out, err := gridOf(&p, segments, spec, lens, a.bend, a.closestPx)
			if err == nil {
				return out, nil
			}
			if first == nil {
				first = err
			}
		}
	}
	return nil, first
}

// gridOf finds the grid among segments that a lens of some distortion shows.
func gridOf(p *picture, segments []segment, spec Spec, lens Lens, bend, closestPx float64) (*Plane, error) {
	pr := priors(lens, p.width, p.height)
	start, ok := latticeStart(*p, segments, spec.PitchMM, lens, pr, bend, closestPx)
	if !ok {
		return nil, noRuler("no grid of straight lines in the photo; keep half of its lines free of pieces, and the photo sharp")
	}
	g, ok := growGrid(p, spec.PitchMM, lens, pr, start)
	for range 3 {
		n := 1.0
		if ok {
			n = g.finer(p, spec.PitchMM, lens)
			g.pitchRatio = n
		}
		if n == 1 {
			break
		}
		// What was found are the heavier lines only: the plane is n times as large as taken so far.
		start = g.fit.view
		for k := range 3 {
			start.p[pMoveX+k] *= n
		}
		start.set()
		g, ok = growGrid(p, spec.PitchMM, lens, pr, start)
	}
	if !ok {
		return nil, noRuler("no regular grid in the photo; keep half of its lines free of pieces, and the photo sharp")
	}
	return g.plane(p, spec, lens)
}

// latticeStart finds the grid in the middle of the photo: two families of lines, their vanishing
// points, and the comb of each.
func latticeStart(p picture, segments []segment, pitch float64, lens Lens, pr prior, bend, closestPx float64) (view, bool) {
	n := normalise{result.XY{float64(p.width) / 2, float64(p.height) / 2}, math.Hypot(float64(p.width), float64(p.height)) / 2}
	bent := view{p: pr.mean, radii: n.radius}
	bent.p[pK1] = bend
	var middle []segment
	for _, s := range segments {
		s = segment{bent.undistort(lens.ideal(s.a)), bent.undistort(lens.ideal(s.b))}
		if m := n.to(s.middle()); s.length() > 0.02*n.radius && math.Hypot(m[0], m[1]) < 0.65 {
			middle = append(middle, s)
		}
	}
	a, b, ok := directions(middle)
	if !ok {
		return view{}, false
	}
	r := rand.New(rand.NewPCG(1, 2))
	fa, okA := familyOf(middle, a, n, r)
	fb, okB := familyOf(middle, b, n, r)
	if !okA || !okB {
		return view{}, false
	}
	h, ok := rectify(fa.point, fb.point)
	if !ok {
		return view{}, false
	}
	// Lines of the first family run along x: their y is what is periodic, and the other way round.
	shortest := closestPx / n.radius
	sy, y0, qa := comb(positions(fa, h, 1), shortest, 1)
	sx, x0, qb := comb(positions(fb, h, 0), shortest, 1)
	if qa < minComb || qb < minComb {
		return view{}, false
	}
	// The crossing nearest the photo's middle becomes the origin: about it the view is turned into one that a lens can have.
	x0, y0 = math.Remainder(x0, sx), math.Remainder(y0, sy)
	toMM := multiply3([9]float64{pitch / sx, 0, -x0 * pitch / sx, 0, pitch / sy, -y0 * pitch / sy, 0, 0, 1}, multiply3(h, n.matrix()))
	for range 2 {
		if v, ok := startView(invert3(toMM), pr, p.width, p.height); ok {
			v.p[pK1] = bend
			v.set()
			return v, true
		}
		for k := range 3 { // mirrored: the other way along y
			toMM[3+k] = -toMM[3+k]
		}
	}
	return view{}, false
}

// positions are the segments' places across their family, along axis 0 or 1 of the rectified frame.
func positions(f family, h [9]float64, axis int) []mark1 {
	out := make([]mark1, len(f.parts))
	for i, s := range f.parts {
		out[i] = mark1{apply3(h, s.middle())[axis], s.length()}
	}
	return out
}

// gridFit is a grid measured at full resolution.
type gridFit struct {
	fit   fitted
	prior prior
	obs   []observation
	hits  gridHits

	extent spread // where on the plane lines show
	sign   int    // of lines: 1 light on dark, -1 dark on light

	pitchRatio float64 // of the lines found over the thinnest lines there are, see finer
	between    float64 // share of the places midway between lines where something like a line is
}

// coarser reports whether every other line is missing, so that the pitch is twice what was taken.
func (g *gridFit) coarser() bool {
	odd := g.hits.odd()
	return odd < faintOddHits || odd < minOddHits && odd*g.hits.share() < overBetween*g.between
}

// growth is a round of measuring lines within reach of the photo's middle.
type growth struct {
	reach  float64 // half diagonals
	places int
	enough float64
}

// growths are the rounds in turn; the first two are for lines so close that farther out one could be taken for the next.
var growths = []growth{{0.12, 120, roughly}, {0.2, 120, roughly}, {0.35, 120, roughly}, {0.5, 120, roughly}, {0.7, 160, roughly}, {1, 200, roughly}, {1, mostGridMarks, finely}}

const closeGrowths = 2

// Limits of a round.
const (
	surelyCounted = 6  // lines from the middle that the comb of segments tells from their neighbours for sure
	minGridMarks  = 24 // places on lines
)

// growGrid measures lines outward from the middle, fitting as it goes.
func growGrid(p *picture, pitch float64, lens Lens, pr prior, start view) (*gridFit, bool) {
	g := gridFit{prior: pr}
	g.fit.view = start
	sure := surelyCounted * pitch / start.middleScale(p) / start.radii
	for i, turn := range growths {
		if i < closeGrowths && growths[i+1].reach <= sure {
			continue
		}
		reads, sign := readGrid(p, pitch, lens, g.fit.view, turn.reach, 0, turn.places)
		g.sign, g.extent = sign, extentOf(reads, pitch, sign)
		g.obs, g.hits = observe(reads, sign, g.extent, lens)
		if len(g.obs) < minGridMarks || g.hits.share() < minHits/2 {
			if i < closeGrowths { // the middle is covered
				continue
			}
			return nil, false
		}
		var ok bool
		if g.fit, ok = settle(g.fit.view, g.obs, pr, 5, 0.5, turn.enough); !ok {
			return nil, false
		}
	}
	return &g, g.hits.share() >= minHits
}

// gridHits counts where lines were looked for and found: in each family on even and odd lines.
type gridHits struct {
	tried, found [2][2]int
	other        int // lines of the other sign
}

func (h gridHits) share() float64 {
	t, f := 0, 0
	for i := range 2 {
		for j := range 2 {
			t, f = t+h.tried[i][j], f+h.found[i][j]
		}
	}
	return float64(f) / math.Max(1, float64(t))
}

// odd is the smaller over the larger share of even and odd lines, of the worse family.
func (h gridHits) odd() float64 {
	worst := 1.0
	for i := range 2 {
		a := float64(h.found[i][0]) / math.Max(1, float64(h.tried[i][0]))
		b := float64(h.found[i][1]) / math.Max(1, float64(h.tried[i][1]))
		worst = min(worst, min(a, b)/math.Max(1e-9, max(a, b)))
	}
	return worst
}

// readGrid looks for the lines midway between crossings, within reach half-diagonals of the middle.
// most bounds the places looked at. shift moves the lines by a share of the pitch: 0.5 looks where none should be.
func readGrid(p *picture, pitch float64, lens Lens, v view, reach, shift float64, most int) (reads []gridRead, sign int) {
	q := Plane{fit: fitted{view: v}, lens: lens, unitMM: 1}
	ups, downs := 0, 0
	for _, g := range gridPlaces(p, &q, pitch, reach, shift, most) {
		room := 0.3 // of the pitch, without meeting a neighbour
		if shift > 0 {
			room = 0.45 * min(shift, 1-shift)
		}
		r := gridRead{gridPlace: g}
		s, ok := p.strokeAt(&q, g.mm, g.dir, g.out, 0.25*pitch, min(12, room*pitch/v.mmPerPx(lens.ideal(g.px))))
		switch r.stroke = s; {
		case !ok || s.edge:
		case s.height > 0:
			r.sign = 1
			ups++
		default:
			r.sign = -1
			downs++
		}
		reads = append(reads, r)
	}
	if ups > downs {
		return reads, 1
	}
	return reads, -1
}

// observe turns the lines of a sign within a box into observations, and counts what was found.
func observe(reads []gridRead, sign int, in spread, lens Lens) (obs []observation, hits gridHits) {
	for i := range reads {
		r := &reads[i]
		if !in.holds(r.mm) {
			continue
		}
		parity := r.index & 1
		hits.tried[r.axis][parity]++
		switch r.sign {
		case sign:
			hits.found[r.axis][parity]++
			obs = append(obs, observation{px: lens.ideal(r.stroke.at), mm: r.mm, dir: r.dir, out: r.out, sd: 0.15, mark: 2*r.axis + parity})
		case -sign:
			hits.other++
		}
	}
	return obs, hits
}

// gridPlace is a place on a line of the grid, midway between two crossings.
type gridPlace struct {
	mm, px   result.XY
	dir, out result.XY
	axis     int // 0: a line of constant x
	index    int // which line
}

func gridPlaces(p *picture, q *Plane, pitch, reach, shift float64, most int) []gridPlace {
	centre := result.XY{float64(p.width) / 2, float64(p.height) / 2}
	radius := math.Hypot(centre[0], centre[1])
	lo, hi := bounds(q, p)
	x0, x1 := int(math.Floor(lo[0]/pitch)), int(math.Ceil(hi[0]/pitch))
	y0, y1 := int(math.Floor(lo[1]/pitch)), int(math.Ceil(hi[1]/pitch))
	if x1-x0 > 400 || y1-y0 > 400 {
		return nil
	}
	var out []gridPlace
	put := func(g gridPlace) {
		g.px = q.ToPx(g.mm)
		if g.px[0] > 6 && g.px[1] > 6 && g.px[0] < float64(p.width)-6 && g.px[1] < float64(p.height)-6 && dist(g.px, centre) < reach*radius {
			out = append(out, g)
		}
	}
	// Of very many places a part is enough to choose from: the photo's middle is a tenth of the box or more.
	r, share := rand.New(rand.NewPCG(5, 6)), 20*float64(most)/float64((x1-x0+1)*(y1-y0+1))
	for i := x0; i <= x1; i++ {
		for j := y0; j <= y1; j++ {
			if share < 1 && r.Float64() > share {
				continue
			}
			x, y := float64(i)*pitch, float64(j)*pitch
			put(gridPlace{mm: result.XY{x + shift*pitch, y + pitch/2}, dir: result.XY{0, 1}, out: result.XY{1, 0}, axis: 0, index: i})
			put(gridPlace{mm: result.XY{x + pitch/2, y + shift*pitch}, dir: result.XY{1, 0}, out: result.XY{0, 1}, axis: 1, index: j})
		}
	}
	return thin(out, most)
}

// thin keeps at most n places, evenly but not in step with the lines.
func thin(places []gridPlace, n int) []gridPlace {
	if len(places) <= n {
		return places
	}
	r := rand.New(rand.NewPCG(3, 4))
	r.Shuffle(len(places), func(i, j int) { places[i], places[j] = places[j], places[i] })
	return places[:n]
}

// bounds is the box on the plane that the photo shows, mm.
func bounds(q *Plane, p *picture) (lo, hi result.XY) {
	lo, hi = result.XY{math.Inf(1), math.Inf(1)}, result.XY{math.Inf(-1), math.Inf(-1)}
	for i := range 5 {
		for j := range 5 {
			mm := q.ToMM(result.XY{float64(p.width) * float64(i) / 4, float64(p.height) * float64(j) / 4})
			for k := range 2 {
				lo[k], hi[k] = min(lo[k], mm[k]), max(hi[k], mm[k])
			}
		}
	}
	return lo, hi
}

// finer is by how much the pitch of the thinnest lines is smaller than that of the lines found: 1, 2, 3 or 5.
func (g *gridFit) finer(p *picture, pitch float64, lens Lens) float64 {
	best, most := 1.0, maxHalfHits*g.hits.share()
	for _, n := range []float64{2, 3, 5} {
		reads, sign := readGrid(p, pitch, lens, g.fit.view, 1, 1/n, 130)
		_, between := observe(reads, sign, g.extent, lens)
		if n == 2 {
			g.between = between.share()
		}
		if between.share() > most {
			best, most = n, between.share()
		}
	}
	return best
}

// plane states the scale, after the count of lines is held against itself.
func (g *gridFit) plane(p *picture, spec Spec, lens Lens) (*Plane, error) {
	out := finishPlane(*p, g.fit, lens, string(Grid), 1)
	out.scale.RelativeSD = math.Hypot(out.scale.RelativeSD, gridSD)
	for _, o := range g.obs {
		if o.dropped {
			out.scale.MarksDropped++
		} else {
			out.scale.MarksUsed++
		}
		out.marks = append(out.marks, Mark{ID: -1, Outline: []result.XY{lens.real(o.px)}, Used: !o.dropped})
	}
	pitchPx := spec.PitchMM / out.scale.MMPerPx
	switch {
	case g.pitchRatio != 1:
		return nil, doubtful("there are lines midway between those found: the grid's pitch is finer than it seems; give the pitch of its thinnest lines, or use the card")
	case g.check(p, spec.PitchMM, lens).uneven():
		return nil, doubtful("many lines of the grid are not where even ones would be; use --scale grid only for a grid of squares, or use the card")
	case g.coarser():
		return nil, doubtful("only every other line of the grid shows; free more of it from pieces, or use the card")
	case g.fit.strained(g.prior) || g.fit.offCentre(g.prior):
		return nil, doubtful("the lines found do not look like a square grid seen through a usual lens; use the card")
	case out.scale.ResidualPx > 0.04*pitchPx:
		return nil, doubtful("the lines of the grid are not straight and even: they miss by %.1f px", out.scale.ResidualPx)
	case out.scale.RelativeSD > MaxRelativeSD:
		return nil, doubtful("the scale is known to %.1f %% only (limit %.1f %%); let more of the grid show", 100*out.scale.RelativeSD, 100*MaxRelativeSD)
	}
	return out, nil
}

// gridSD is the relative standard deviation of what a grid's maker calls its pitch (assumed).
const gridSD = 0.002
