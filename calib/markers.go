package calib

import (
	"math"

	"gristmark/calib/card"
	"gristmark/internal/result"
)

// sightings fits every copy of a sheet that the markers show.
func sightings(p picture, lens Lens, sheet card.Sheet, markers []found) []sighting {
	byID := map[int]card.Marker{}
	for _, m := range sheet.Markers {
		byID[m.ID] = m
	}
	var rest []found
	for _, m := range markers {
		if _, ok := byID[m.id]; ok {
			rest = append(rest, m)
		}
	}
	var out []sighting
	for len(rest) >= minMarkers && len(out) < 4 {
		in, _ := consistent(byID, rest)
		if len(in) < minMarkers {
			break
		}
		var mine, others []found
		for i, m := range rest {
			if in[i] {
				mine = append(mine, m)
			} else {
				others = append(others, m)
			}
		}
		if s, ok := fitSheet(p, lens, sheet, byID, mine); ok {
			s.read = len(mine)
			out = append(out, s)
			others = s.outside(p, lens, others)
		}
		rest = others
	}
	return out
}

// outside leaves out markers that lie where the sheet was found: misread copies of its own.
func (s *sighting) outside(p picture, lens Lens, markers []found) []found {
	q := &Plane{fit: s.fit, lens: lens, unitMM: 1}
	var out []found
	for _, m := range markers {
		c := q.ToMM(centroid(m.corners))
		if c[0] < 0 || c[1] < 0 || c[0] > s.sheet.WidthMM || c[1] > s.sheet.HeightMM {
			out = append(out, m)
		}
	}
	return out
}

func centroid(c [4]result.XY) result.XY {
	return result.XY{(c[0][0] + c[1][0] + c[2][0] + c[3][0]) / 4, (c[0][1] + c[1][1] + c[2][1] + c[3][1]) / 4}
}

// mostPairs bounds the pairs of markers that are tried.
const mostPairs = 80

// consistent finds the largest set of markers that one homography explains; in is nil without one.
// The tolerance is wide, half a marker: the lens may bend, and the ids are sure.
func consistent(byID map[int]card.Marker, markers []found) (in map[int]bool, h [9]float64) {
	n := len(markers)
	stride := max(1, n*(n-1)/2/mostPairs)
	best, count := math.Inf(1), 0
	k := 0
	for i := range n {
		for j := i + 1; j < n; j++ {
			if k++; k%stride != 0 || markers[i].id == markers[j].id {
				continue
			}
			try, ok := homography(append(cornerPairs(byID[markers[i].id], markers[i]), cornerPairs(byID[markers[j].id], markers[j])...))
			if !ok {
				continue
			}
			set, miss := explained(byID, markers, try)
			if len(set) > count || len(set) == count && miss < best {
				in, h, best, count = set, try, miss, len(set)
			}
		}
	}
	if count < minMarkers {
		return nil, h
	}
	return in, h
}

func cornerPairs(m card.Marker, f found) []pair {
	c := m.Corners()
	out := make([]pair, 4, 8)
	for i := range 4 {
		out[i] = pair{c[i], f.corners[i]}
	}
	return out
}

// explained tells which markers a homography puts where they were found, and by how much it misses.
func explained(byID map[int]card.Marker, markers []found, h [9]float64) (in map[int]bool, miss float64) {
	in = map[int]bool{}
	taken := map[int]bool{}
	for i, f := range markers {
		c := byID[f.id].Corners()
		worst := 0.0
		for k := range 4 {
			worst = math.Max(worst, dist(apply3(h, c[k]), f.corners[k]))
		}
		side := (dist(f.corners[0], f.corners[2]) + dist(f.corners[1], f.corners[3])) / 2 / math.Sqrt2
		if worst <= 0.5*side+4 && !taken[f.id] {
			in[i], taken[f.id] = true, true
			miss += worst
		}
	}
	return in, miss
}

// fitSheet measures the sides of the markers and fits the view to them: first of the markers that
// were read, then of all that the view says should be there.
func fitSheet(p picture, lens Lens, sheet card.Sheet, byID map[int]card.Marker, markers []found) (sighting, bool) {
	pr := priors(lens, p.width, p.height)
	s := sighting{sheet: sheet, prior: pr}
	var pairs []pair
	for _, f := range markers {
		for _, c := range cornerPairs(byID[f.id], f) {
			c.px = lens.ideal(c.px)
			pairs = append(pairs, c)
		}
	}
	h, ok := homography(pairs)
	if !ok {
		return s, false
	}
	start, ok := startView(h, pr, p.width, p.height)
	if !ok {
		return s, false
	}
	// Corners from the reduced copy, some px off, settle the pose and a first distortion.
	rough := make([]observation, len(pairs))
	for i, c := range pairs {
		rough[i] = observation{px: c.px, mm: c.mm, sd: 2}
	}
	if s.fit, ok = fit(start, rough, pr, roughly); !ok {
		return s, false
	}
	for round := range finalRound + 2 {
		if round > finalRound {
			if lens.Profiled || !s.fit.offCentre(pr) {
				break
			}
			pr = cropped(pr, p.width, p.height)
			s.prior, s.cropped = pr, true
		}
		s.markers = s.markers[:0]
		s.obs = s.obs[:0]
		for _, m := range sheet.Markers {
			if obs := s.measure(p, lens, m, round, len(s.markers)); len(obs) > 0 {
				s.obs = append(s.obs, obs...)
				s.markers = append(s.markers, m)
			}
		}
		if len(s.obs) < 4*minMarkers*min(2, 1+round/finalRound) {
			return s, false
		}
		enough := finely
		if round == 0 {
			enough = roughly
		}
		if s.fit, ok = settle(s.fit.view, s.obs, pr, 5, 0.3, enough); !ok {
			return s, false
		}
	}
	used, _ := s.countMarks()
	return s, used >= minMarkers
}

// pieces of a marker's side that are measured, between the corner cells.
const pieces = 4

// finalRound is when all of them are; the rounds before show where to look.
const finalRound = 2

// measure looks for the four sides of a marker where the view puts them; nil when too little of it
// shows. The first time it looks further out, and before the last at every other piece.
func (s *sighting) measure(p picture, lens Lens, m card.Marker, round, index int) []observation {
	q := Plane{fit: s.fit, lens: lens, unitMM: 1}
	c := m.Corners()
	cell := m.CellMM()
	var out []observation
	var lo, hi []float64
	every := 1
	if round < finalRound {
		every = 2
	}
	for k := range 4 {
		a, b := c[k], c[(k+1)%4]
		dir := unit(sub(b, a))
		normal := result.XY{dir[1], -dir[0]} // outward: corners run clockwise with y down
		length := m.SizeMM - 2*cell
		for i := (k + round) % every; i < pieces; i += every {
			t := cell + length*(float64(i)+0.5)/pieces
			mm := add(a, dir, t)
			e, ok := s.look(&p, &q, mm, dir, normal, length/pieces, cell, round == 0)
			if !ok {
				continue
			}
			lo, hi = append(lo, e.lo), append(hi, e.hi)
			out = append(out, observation{
				px: lens.ideal(e.at), mm: mm, dir: dir, out: normal, spread: 1, sd: 0.1, mark: index,
			})
		}
	}
	least := 2 * pieces / every
	if len(out) < least {
		return nil
	}
	// Pieces whose two sides are not as dark and as light as the marker's others are covered.
	l, h := median(lo), median(hi)
	kept := out[:0]
	for i, o := range out {
		if math.Abs(lo[i]-l) < 0.25*(h-l) && math.Abs(hi[i]-h) < 0.35*(h-l) {
			kept = append(kept, o)
		}
	}
	if len(kept) < least || h < 1.8*l {
		return nil
	}
	return kept
}

// look measures one piece of a side.
func (s *sighting) look(p *picture, q *Plane, mm, dir, normal result.XY, lengthMM, cellMM float64, first bool) (edge, bool) {
	at := q.ToPx(mm)
	along := q.ToPx(add(mm, dir, lengthMM/2))
	across := q.ToPx(add(mm, normal, cellMM/2))
	tangent := unit(sub(along, at))
	n := result.XY{-tangent[1], tangent[0]}
	if dot(n, sub(across, at)) < 0 {
		n = result.XY{-n[0], -n[1]}
	}
	cell := 2 * math.Abs(dot(n, sub(across, at)))
	limit := 9.0
	if first {
		limit = 14
	}
	reach := math.Min(0.8*cell, limit)
	e, ok := p.findEdge(at, tangent, n, 2*dist(along, at), reach)
	if !ok || e.misshape > 0.35 {
		return e, false
	}
	if !first && math.Abs(e.offset) > 0.6*reach {
		return e, false
	}
	return e, true
}
