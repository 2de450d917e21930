package calib

import (
	"math"
	"slices"

	"gristmark/internal/result"
)

// framePixels is the size of the copy in which the sides of a rectangle are looked for.
const framePixels = 0.8e6

// Limits of what counts as a side and as a rectangle.
const (
	minSideShare   = 0.35  // of a side that must show, once measured
	roughSideShare = 0.30  // the same, in the reduced copy
	minFrameShare  = 0.20  // smallest side over the photo's diagonal
	paperMM        = 0.05  // by which drawn sides are not straight (assumed)
	frameSD        = 0.003 // relative, of what its maker calls its size (assumed)
	maxFrameTilt   = 35    // degrees: beyond it a rectangle of another shape may look the same
	maxSheetCost   = 8.5   // of a sheet's edges: a frame may be drawn on it, a little smaller and much alike
	maxAbsent      = 0.2   // of a side that nothing covers and that is not there
	bareShare      = 0.25  // of the difference between both sides, by which light may differ and count as alike
	maxOpposite    = 0.4   // readings of steps the other way over those of the sheet's own
	hopelessCost   = 700   // of corners before the fit: those of another shape miss by a hundred px and more
	sameFrame      = 0.003 // of the photo's diagonal, by which the corners of one candidate differ from another's
	triedFrames    = 8     // candidates measured at full resolution
	sideSamples    = 40    // places measured along a side
)

// findFrame finds a drawn rectangle, or a sheet of paper, of known size.
func findFrame(p picture, spec Spec, lens Lens) (*Plane, error) {
	segments, err := p.segments(framePixels, false)
	if err != nil {
		return nil, err
	}
	diagonal := math.Hypot(float64(p.width), float64(p.height))
	lines := gather(segments, diagonal)
	pr := priors(lens, p.width, p.height)
	candidates := rectangles(p, lines, diagonal, spec, lens, pr)
	var best *frameFit
	var measured []candidate
	for _, c := range candidates {
		if len(measured) == triedFrames {
			break
		}
		if c.among(measured, sameFrame*diagonal) {
			continue
		}
		measured = append(measured, c)
		most := 200.0 // of the priors' cost
		if best != nil {
			most = best.cost + 4
		}
		if f := measureFrame(p, spec, lens, pr, c, most); f != nil && (best == nil || f.cost < best.cost) {
			best = f
		}
	}
	if best == nil {
		return nil, noRuler("no rectangle of %g x %g mm in the photo; keep all four sides in view, most of each free of pieces, and check the size", spec.WidthMM, spec.HeightMM)
	}
	if best.patterned(&p, spec, lens) {
		return nil, doubtful("a regular pattern of lines or squares runs within the rectangle of %g x %g mm, which could be any part of it; use --scale grid with the pattern's pitch, or the card", spec.WidthMM, spec.HeightMM)
	}
	return best.plane(p, spec, lens)
}

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

// candidate is a quadrilateral that may be the rectangle.
type candidate struct {
	start   view
	cost    float64
	corners [4]result.XY // px, clockwise from any of them
}

// among reports whether others have the same corners within some px: measured, they would come out the same.
func (c candidate) among(others []candidate, within float64) bool {
	return slices.ContainsFunc(others, func(o candidate) bool {
		for turn := range 4 {
			worst := 0.0
			for k := range 4 {
				worst = max(worst, dist(c.corners[k], o.corners[(k+turn)%4]))
			}
			if worst < within {
				return true
			}
		}
		return false
	})
}

// rectangles lists quadrilaterals that a view of the rectangle explains, the likeliest first.
func rectangles(p picture, lines []longLine, diagonal float64, spec Spec, lens Lens, pr prior) []candidate {
	var out []candidate
	type opposite struct{ i, j int }
	var pairs []opposite
	for i := range lines {
		for j := i + 1; j < len(lines); j++ {
			if math.Abs(cross(lines[i].n, lines[j].n)) < 0.45 {
				pairs = append(pairs, opposite{i, j})
			}
		}
	}
	for a, x := range pairs {
		for _, y := range pairs[a+1:] {
			if math.Abs(cross(lines[x.i].n, lines[y.i].n)) < 0.6 {
				continue
			}
			corners, share, ok := quadrilateral(p, lines[x.i], lines[y.i], lines[x.j], lines[y.j], diagonal)
			if !ok {
				continue
			}
			if c, ok := explain(p, corners, spec, lens, pr); ok {
				c.cost += 20 * (1 - share)
				out = append(out, c)
			}
		}
	}
	slices.SortFunc(out, func(a, b candidate) int { return compare(a.cost, b.cost) })
	return out
}

// quadrilateral gives the corners of four sides in order, clockwise, and the smallest share of a side
// that shows.
func quadrilateral(p picture, a, b, c, d longLine, diagonal float64) (corners [4]result.XY, share float64, ok bool) {
	sides := [4]longLine{a, b, c, d}
	for i := range sides {
		q, ok := meet(sides[(i+3)%4].line, sides[i].line)
		if !ok {
			return corners, 0, false
		}
		corners[i] = q
	}
	share = 1
	for i := range sides {
		u, v := corners[i], corners[(i+1)%4]
		if dist(u, v) < minFrameShare*diagonal {
			return corners, 0, false
		}
		s := sides[i].shows(p, u, v)
		if s < roughSideShare {
			return corners, 0, false
		}
		share = min(share, s)
	}
	turn := cross(sub(corners[1], corners[0]), sub(corners[2], corners[1]))
	for i := range sides {
		if cross(sub(corners[(i+1)%4], corners[i]), sub(corners[(i+2)%4], corners[(i+1)%4]))*turn <= 0 {
			return corners, 0, false // not convex
		}
	}
	if turn < 0 {
		corners[1], corners[3] = corners[3], corners[1]
	}
	return corners, share, true
}

// shows is the share of the side from u to v that shows; what lies outside the photo counts as hidden.
func (l *longLine) shows(p picture, u, v result.XY) float64 {
	d := l.dir()
	a, b := dot(d, u), dot(d, v)
	inside := 0
	const n = 20
	for i := range n {
		q := add(u, sub(v, u), (float64(i)+0.5)/n)
		if q[0] > 0 && q[1] > 0 && q[0] < float64(p.width) && q[1] < float64(p.height) {
			inside++
		}
	}
	if inside < n/2 {
		return 0
	}
	return l.covered(min(a, b), max(a, b)) / math.Abs(b-a)
}

// explain fits a view to the corners, the rectangle lying or standing.
func explain(p picture, corners [4]result.XY, spec Spec, lens Lens, pr prior) (candidate, bool) {
	w, h := spec.WidthMM, spec.HeightMM
	model := [4]result.XY{{0, 0}, {w, 0}, {w, h}, {0, h}}
	best, found := candidate{}, false
	for turn := range 2 {
		pairs := make([]pair, 4)
		obs := make([]observation, 4)
		for i := range 4 {
			px := lens.ideal(corners[(i+turn)%4])
			pairs[i] = pair{model[i], px}
			obs[i] = observation{px: px, mm: model[i], sd: 4}
		}
		hom, ok := homography(pairs)
		if !ok {
			continue
		}
		start, ok := startView(hom, pr, p.width, p.height)
		if !ok {
			continue
		}
		if totalCost(&start, obs, pr) > hopelessCost {
			continue
		}
		f, ok := fit(start, obs, pr, roughly)
		if !ok || f.tiltDeg() > 50 {
			continue
		}
		if c := totalCost(&f.view, obs, pr); !found || c < best.cost {
			best, found = candidate{f.view, c, corners}, true
		}
	}
	return best, found && best.cost < 200
}

// frameFit is a rectangle measured at full resolution.
type frameFit struct {
	fit   fitted
	prior prior
	obs   []observation
	cost  float64
	share [4]float64 // of each side that was measured
}

// measureFrame reads the four sides where a candidate puts them and fits the view to what it finds;
// nil where too little is found.
func measureFrame(p picture, spec Spec, lens Lens, pr prior, c candidate, most float64) *frameFit {
	f := frameFit{prior: pr}
	f.fit.view = c.start
	diagonal := math.Hypot(float64(p.width), float64(p.height))
	for round := range 3 {
		reach := max(6, 0.0024*diagonal)
		if round == 0 {
			reach = max(10, 0.003*diagonal)
		}
		var absent float64
		samples := sideSamples >> (2 - round)
		f.obs, absent = readSides(&p, spec, lens, f.fit.view, reach, samples)
		if round > 0 && absent > maxAbsent {
			return nil
		}
		if len(f.obs) < samples {
			return nil
		}
		var ok bool
		enough := roughly
		if round == 2 {
			enough = finely
		}
		if f.fit, ok = settle(f.fit.view, f.obs, pr, 4, 0.0012*diagonal, enough); !ok || addedCost(&f.fit.view, pr) > most {
			return nil
		}
	}
	for _, o := range f.obs {
		if !o.dropped {
			f.share[o.mark] += 1.0 / sideSamples
		}
	}
	shown := slices.Min(f.share[:])
	if shown < minSideShare {
		return nil
	}
	f.cost = addedCost(&f.fit.view, pr) + 8*(1-shown)
	if f.obs[0].spread != 0 && f.cost > maxSheetCost {
		return nil
	}
	return &f
}

// addedCost is the priors' part of the cost.
func addedCost(v *view, pr prior) float64 { return totalCost(v, nil, pr) }

// readSides measures thin lines or steps along the four sides, whichever most of them are. absent is the largest
// share of a side that is not there though nothing covers it.
func readSides(p *picture, spec Spec, lens Lens, v view, reach float64, samples int) (kept []observation, absent float64) {
	q := Plane{fit: fitted{view: v}, lens: lens, unitMM: 1}
	w, h := spec.WidthMM, spec.HeightMM
	corners := [4]result.XY{{0, 0}, {w, 0}, {w, h}, {0, h}}
	scale := v.mmPerPx(result.XY{float64(p.width) / 2, float64(p.height) / 2})
	kinds := map[[2]bool]int{} // step or line, and its sign
	var all []observation
	var kind [][2]bool
	var seen []stroke
	var shown, missing [4][]stroke
	for k := range 4 {
		a, b := corners[k], corners[(k+1)%4]
		dir, length := unit(sub(b, a)), dist(a, b)
		out := result.XY{dir[1], -dir[0]}
		for i := range samples {
			mm := add(a, dir, length*(0.02+0.96*(float64(i)+0.5)/float64(samples)))
			s, ok := p.strokeAt(&q, mm, dir, out, 0.5*length/sideSamples, reach)
			if !ok {
				missing[k] = append(missing[k], s)
				continue
			}
			seen = append(seen, s)
			kind = append(kind, [2]bool{s.edge, s.height > 0})
			kinds[kind[len(kind)-1]]++
			all = append(all, observation{px: lens.ideal(s.at), mm: a, dir: dir, out: out, sd: math.Hypot(0.15, paperMM/scale), mark: k})
		}
	}
	var most [2]bool
	for k, n := range kinds {
		if n > kinds[most] {
			most = k
		}
	}
	opposite := [2]bool{most[0], !most[1]}
	if most[0] && float64(kinds[opposite]) > maxOpposite*float64(kinds[most]) {
		return nil, 0 // light and dark change sides along it: the squares of a board
	}
	for i, s := range seen {
		if k := all[i].mark; kind[i] == most {
			shown[k] = append(shown[k], s)
		} else {
			missing[k] = append(missing[k], s)
		}
	}
	for k := range shown {
		absent = max(absent, bare(shown[k], missing[k], samples))
	}
	kept = all[:0]
	for i, o := range all {
		if kind[i] != most {
			continue
		}
		if most[0] { // a sheet lighter than the table spreads as light, not as ink
			o.spread = 1
			if !most[1] {
				o.spread = -1
			}
		}
		kept = append(kept, o)
	}
	return kept, absent
}

// bare is the share of a side's places where it is missing, yet what shows there is one of its two sides or both
// changed over: an edge of something smaller, or the squares of a board, and nothing that lies on the side.
func bare(shown, missing []stroke, samples int) float64 {
	var near, far []float64
	for _, s := range shown {
		near, far = append(near, s.near), append(far, s.far)
	}
	n, f := median(near), median(far)
	count := 0
	for _, s := range missing {
		within := bareShare * math.Max(math.Abs(n-f), bareShare*math.Max(n, f))
		alike := func(near, far float64) bool {
			return math.Abs(s.near-near) < within && math.Abs(s.far-far) < within
		}
		if alike(n, n) || alike(f, f) || alike(f, n) {
			count++
		}
	}
	return float64(count) / float64(samples)
}

// strokeAt looks across a line of the plane at a point of it.
func (p *picture) strokeAt(q *Plane, mm, dir, out result.XY, halfMM, reach float64) (stroke, bool) {
	at := q.ToPx(mm)
	along := q.ToPx(add(mm, dir, halfMM))
	across := q.ToPx(add(mm, out, halfMM))
	tangent := unit(sub(along, at))
	n := result.XY{-tangent[1], tangent[0]}
	if dot(n, sub(across, at)) < 0 {
		n = result.XY{-n[0], -n[1]}
	}
	return p.findStroke(at, tangent, n, 2*dist(along, at), reach)
}

// plane states the scale, or why the rectangle does not carry one.
func (f *frameFit) plane(p picture, spec Spec, lens Lens) (*Plane, error) {
	out := finishPlane(p, f.fit, lens, string(Frame), 1)
	// The sides see the lens far from the middle only: what bends them oddly there is not known inside.
	out.scale.RelativeSD = math.Hypot(out.scale.RelativeSD, math.Hypot(frameSD, 0.15*f.fit.p[pK2]))
	for _, s := range f.share {
		if s >= minSideShare {
			out.scale.MarksUsed++
		} else {
			out.scale.MarksDropped++
		}
	}
	side := math.Max(spec.WidthMM, spec.HeightMM) / out.scale.MMPerPx
	switch r := out.scale.ResidualPx; {
	case f.fit.strained(f.prior) || f.fit.offCentre(f.prior) || f.fit.tiltDeg() > maxFrameTilt:
		return nil, doubtful("the rectangle in the photo does not look like one of %g x %g mm seen through a usual lens; check the size, or use the card", spec.WidthMM, spec.HeightMM)
	case r > maxResidual*side:
		return nil, doubtful("the sides of the rectangle are not straight: they miss by %.1f px; lay the sheet flat", r)
	case out.scale.RelativeSD > MaxRelativeSD:
		return nil, doubtful("the scale is known to %.1f %% only (limit %.1f %%); fill the photo with the rectangle", 100*out.scale.RelativeSD, 100*MaxRelativeSD)
	case r > noteResidual*side && r > notePx:
		out.scale.Note = "the sheet seems bent or creased"
	}
	f.describe(out, spec)
	return out, nil
}

// describe adds the marks, the field inside and the sides to leave out.
func (f *frameFit) describe(out *Plane, spec Spec) {
	w, h := spec.WidthMM, spec.HeightMM
	const margin = 1.5 // mm beside the sides
	inner := []result.XY{{margin, margin}, {w - margin, margin}, {w - margin, h - margin}, {margin, h - margin}}
	out.field = out.polygon(inner)
	for _, s := range [][4]float64{{-margin, -margin, w + margin, margin}, {-margin, h - margin, w + margin, h + margin}, {-margin, margin, margin, h - margin}, {w - margin, margin, w + margin, h - margin}} {
		out.exclude = append(out.exclude, out.polygon([]result.XY{{s[0], s[1]}, {s[2], s[1]}, {s[2], s[3]}, {s[0], s[3]}}))
	}
	for _, o := range f.obs {
		out.marks = append(out.marks, Mark{ID: -1, Outline: []result.XY{out.lens.real(o.px)}, Used: !o.dropped})
	}
}
