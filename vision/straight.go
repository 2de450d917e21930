package vision

import (
	"slices"

	"gristmark/internal/result"
)

// Limits of sides that run straight on across a joint.
const (
	flankArmMM    = 0.3  // of the outline on both sides of a point, over which its turn is taken: short arms have a corner soon after the joint
	flankMM       = 1.8  // how far a flank is followed: a straw's bend tells further on
	jointBlurMM   = 0.1  // of a flank next to the joint that says nothing of it, as the outline was smoothed there
	leastOnFlank  = 3    // points that tell a flank
	straightMM    = 0.04 // root mean square distance of both flanks from one line, at most: a straw bent to a radius of 40 mm is off by about so much
	besideJointMM = 1.0  // of a flank next to the joint that may be shadow and blur in the hollow
	leastAlone    = 5    // points that tell the only flank of a joint
	cornerMM      = 0.45 // from the joint to the corner of an end that comes out beyond it, at most
	hiddenMM      = 1.5  // by which the joint is moved then, at most
)

// joints is a run of points that were cut, from point first to last of a loop, between the points where the joints before and after it end.
type joints struct{ before, first, last, after int }

// straightened is the outline, work px, of a piece that runs across another, its joints brought onto the lines of its sides: joints
// start where the mask left off, whose rim lies off the edges that the flanks were put on. Sides with a bend or a step stay. Where a corner of
// the piece's end lies under the other piece, the side that is seen runs on to that end, as far as there are pieces.
func straightened(l loop, pxPerMM float64, onPiece func(result.XY) bool) []result.XY {
	out := slices.Clone(l.line)
	s := sides{l.line, turning(l.line, flankArmMM*pxPerMM), pxPerMM}
	for _, j := range jointsOf(l.joint) {
		if side, ok := s.through(j); ok {
			s.lay(out, j, side)
		} else if side, from, to, ok := s.toEnd(j); ok && onPiece(side.nearest(s.line[j.first])) && onPiece(side.nearest(s.line[j.last])) {
			s.layAll(out, from, to, side)
		}
	}
	return out
}

// toEnd is the line of a joint's only flank, where the piece's end follows soon on the other side of the joint, and the points from and to which the outline
// belongs on it: the joint, and on to the end's corner.
func (s *sides) toEnd(j joints) (l straightLine, from, to int, ok bool) {
	if corner, near := s.cornerBeside(j.last, j.after, 1); near {
		if l, ok = s.alone(j.first, j.before, -1, j.last); ok {
			return l, j.first, corner, true
		}
	}
	if corner, near := s.cornerBeside(j.first, j.before, -1); near {
		if l, ok = s.alone(j.last, j.after, 1, j.first); ok {
			return l, corner, j.last, true
		}
	}
	return l, 0, 0, false
}

// alone is the line of the flank beside the joint's point i, if the joint's other end lies inside of it.
func (s *sides) alone(i, end, dir, other int) (l straightLine, ok bool) {
	m := moments{about: s.line[i]}
	far := s.addFlank(&m, i, end, dir)
	if m.n < leastAlone {
		return l, false
	}
	if l = m.line().headed(s.line[i], far); dir < 0 {
		l = l.headed(far, s.line[i])
	}
	off := l.outside(s.line[other]) / s.pxPerMM
	return l, l.rms <= straightMM*s.pxPerMM && off <= 0 && off >= -hiddenMM
}

// cornerBeside finds the corner within cornerMM of the joint's point i, in steps of dir, before point end.
func (s *sides) cornerBeside(i, end, dir int) (corner int, ok bool) {
	n := len(s.line)
	for j := (i + dir + n) % n; j != end && dist(s.line[j], s.line[i]) <= cornerMM*s.pxPerMM; j = (j + dir + n) % n {
		if s.turn[j] > atCorner && (!ok || s.turn[j] > s.turn[corner]) {
			corner, ok = j, true
		}
	}
	return corner, ok
}

// jointsOf lists the joints along a closed outline; none where all of it was cut.
func jointsOf(joint []bool) []joints {
	n := len(joint)
	var runs []joints
	for i := range joint {
		if !joint[i] || joint[(i+n-1)%n] {
			continue
		}
		last := i
		for joint[(last+1)%n] {
			last = (last + 1) % n
		}
		runs = append(runs, joints{first: i, last: last})
	}
	for k := range runs {
		runs[k].before, runs[k].after = runs[(k+len(runs)-1)%len(runs)].last, runs[(k+1)%len(runs)].first
	}
	return runs
}

// through is the line that both flanks of a joint lie on, if they do.
func (s *sides) through(j joints) (l straightLine, ok bool) {
	m := moments{about: s.line[j.first]}
	start := s.addFlank(&m, j.first, j.before, -1)
	n := m.n
	end := s.addFlank(&m, j.last, j.after, 1)
	if n < leastOnFlank || m.n-n < leastOnFlank {
		return l, false
	}
	l = m.line().headed(start, end)
	return l, l.rms <= straightMM*s.pxPerMM
}

// addFlank adds the outline's points beside the joint's point i in steps of dir, up to a corner or point end, and returns the last of them.
func (s *sides) addFlank(m *moments, i, end, dir int) (last result.XY) {
	n := len(s.line)
	for j := (i + dir + n) % n; j != end && s.turn[j] <= atCorner; j = (j + dir + n) % n {
		d := dist(s.line[j], s.line[i])
		if d > flankMM*s.pxPerMM {
			break
		}
		if d >= jointBlurMM*s.pxPerMM {
			last = s.line[j]
			m.add(last)
		}
	}
	return last
}

// lay puts the joint's points onto the line, and those beside it, as far as they lie outside.
func (s *sides) lay(out []result.XY, j joints, l straightLine) {
	s.layAll(out, j.first, j.last, l)
	s.layBeside(out, j.first, j.before, -1, l)
	s.layBeside(out, j.last, j.after, 1, l)
}

// layAll puts the points from the one to the other onto the line.
func (s *sides) layAll(out []result.XY, from, to int, l straightLine) {
	n := len(s.line)
	for k := range (to-from+n)%n + 1 {
		i := (from + k) % n
		out[i] = l.nearest(s.line[i])
	}
}

// layBeside puts points beside the joint's point i, in steps of dir, onto the line, up to the first that is not outside.
func (s *sides) layBeside(out []result.XY, i, end, dir int, l straightLine) {
	n := len(s.line)
	for j := (i + dir + n) % n; j != end && dist(s.line[j], s.line[i]) <= besideJointMM*s.pxPerMM; j = (j + dir + n) % n {
		if l.outside(s.line[j]) <= 0 {
			return
		}
		out[j] = l.nearest(s.line[j])
	}
}

// nearest is the point of the line that is nearest to p.
func (l straightLine) nearest(p result.XY) result.XY {
	return moved(l.at, l.along, dot(result.XY{p[0] - l.at[0], p[1] - l.at[1]}, l.along))
}
