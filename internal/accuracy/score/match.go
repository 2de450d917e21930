// Package score counts what a measurement found against the truth of its scene: misses and extras
// both, sizes, names, and every sample number with its interval.
package score

import (
	"cmp"
	"slices"

	"gristmark/internal/accuracy/outline"
	"gristmark/internal/result"
)

// Thing is a particle that truly lies in the scene.
type Thing struct {
	Class    result.Class
	AtPx     result.XY
	Shape    outline.Shape // as the photo shows it; area 0 where the truth has no outline
	LengthMM float64
	WidthMM  float64
	AreaMM2  float64
	Share    *float64 // of the lot's mean unbroken kernel, nil for stover
	Kept     *float64 // of its own unbroken outline, nil for stover
	Cut      bool     // crosses the photo's frame

	MaxFeretMM, MinFeretMM float64
	OutlineMM              []result.XY // seen from straight above

	Lean   float64 // slope of the line of sight against straight down; not a number where unknown
	Hidden float64 // share of it under others

	Small bool // too small to count, or hidden under others: neither a miss nor, when found, an extra
}

// Found is a particle of the measurement.
type Found struct {
	result.Particle
	Shape outline.Shape
}

// NewFound prepares a particle for comparison.
func NewFound(p result.Particle) Found { return Found{Particle: p, Shape: outline.New(p.OutlinePx)} }

// sideAt is the probability from which a piece without a class is put on a side, kernel or stover: that from which classes are named.
const sideAt = 0.6

// side tells on which side the piece was put: by its class, and without one, as between a whole kernel and a broken one, by its
// probabilities; on neither where they say too little.
func (g Found) side() (kernel, sure bool) {
	if g.Class != result.Unsure {
		return g.Class.IsKernel(), true
	}
	return g.PKernel() >= sideAt, max(g.PKernel(), g.PStover) >= sideAt
}

// Pair is a truth and a find that are the same particle.
type Pair struct {
	Truth, Find int     // indices
	IoU         float64 // of the outlines; -1 where one has none and the centroid decided
}

// ignoredShare is the share of a find's area on small things from which on it counts for nothing.
const ignoredShare = 0.5

// Match pairs finds with truths one to one, the largest overlap first, from the least overlap atLeast
// (0..1) on. Where an outline is absent, a find whose centroid lies in the truth's outline, or a truth
// whose centroid lies in the find's, is paired after all others.
func Match(truths []Thing, finds []Found, atLeast float64) []Pair {
	var candidates []Pair
	for t := range truths {
		for f := range finds {
			if iou := likeness(truths[t], finds[f]); iou >= atLeast || iou < 0 {
				candidates = append(candidates, Pair{t, f, iou})
			}
		}
	}
	slices.SortStableFunc(candidates, func(a, b Pair) int { return cmp.Compare(b.IoU, a.IoU) })
	takenTruth, takenFind := make([]bool, len(truths)), make([]bool, len(finds))
	var pairs []Pair
	for _, c := range candidates {
		if !takenTruth[c.Truth] && !takenFind[c.Find] {
			takenTruth[c.Truth], takenFind[c.Find] = true, true
			pairs = append(pairs, c)
		}
	}
	return pairs
}

// likeness is the overlap of two outlines, or -1 where centroids alone say that they are the same.
func likeness(t Thing, f Found) float64 {
	switch hasT, hasF := t.Shape.Area() > 0, f.Shape.Area() > 0; {
	case hasT && hasF:
		return outline.IoU(t.Shape, f.Shape)
	case hasT && t.Shape.Contains(f.AtPx), hasF && f.Shape.Contains(t.AtPx):
		return -1
	}
	return 0
}

// Lone are the sizes of what was not paired, mm.
type Lone struct {
	Missed, Extra []float64
}

// Unpaired returns the lengths of truths that nothing was found for and of finds that no truth belongs to.
func Unpaired(truths []Thing, finds []Found, pairs []Pair) Lone {
	var l Lone
	pairedTruth, pairedFind := make([]bool, len(truths)), make([]bool, len(finds))
	for _, p := range pairs {
		pairedTruth[p.Truth], pairedFind[p.Find] = true, true
	}
	for i, t := range truths {
		if !pairedTruth[i] && !t.Small {
			l.Missed = append(l.Missed, t.LengthMM)
		}
	}
	for i, f := range finds {
		if !pairedFind[i] && !onSmall(truths, f) {
			l.Extra = append(l.Extra, f.LengthMM)
		}
	}
	return l
}

// Counts of detection. Small things and finds on them count for nothing.
type Counts struct {
	Hits, Misses, Extras int
}

// Count turns pairs into counts.
func Count(truths []Thing, finds []Found, pairs []Pair) Counts {
	var c Counts
	truthOf, paired := make([]int, len(finds)), make([]bool, len(truths))
	for i := range truthOf {
		truthOf[i] = -1
	}
	for _, p := range pairs {
		truthOf[p.Find], paired[p.Truth] = p.Truth, true
	}
	for f, t := range truthOf {
		switch {
		case t >= 0 && !truths[t].Small:
			c.Hits++
		case t < 0 && !onSmall(truths, finds[f]):
			c.Extras++
		}
	}
	for t := range truths {
		if !paired[t] && !truths[t].Small {
			c.Misses++
		}
	}
	return c
}

// onSmall reports whether a find lies mostly on things too small to count.
func onSmall(truths []Thing, f Found) bool {
	var common float64
	for _, t := range truths {
		if t.Small {
			common += outline.Common(t.Shape, f.Shape)
		}
	}
	return common > 0 && common >= ignoredShare*f.Shape.Area()
}

// Add sums counts.
func (c *Counts) Add(o Counts) { c.Hits += o.Hits; c.Misses += o.Misses; c.Extras += o.Extras }

// Precision is hits over finds, 1 where nothing was found.
func (c Counts) Precision() float64 { return ratio(c.Hits, c.Hits+c.Extras) }

// Recall is hits over truths, 1 where there was nothing to find.
func (c Counts) Recall() float64 { return ratio(c.Hits, c.Hits+c.Misses) }

// F1 is the harmonic mean of precision and recall, 2 hits / (2 hits + misses + extras).
func (c Counts) F1() float64 { return ratio(2*c.Hits, 2*c.Hits+c.Misses+c.Extras) }

func ratio(a, b int) float64 {
	if b == 0 {
		return 1
	}
	return float64(a) / float64(b)
}
