package score

import (
	"math"

	"gristmark/internal/result"
)

// Overlaps from which on a find is the truth's.
const (
	Loose  = 0.5
	Strict = 0.75
)

// Missed is the column of the confusion table for truths that nothing was found for.
const Missed result.Class = "missed"

// Key of a cell of the confusion table.
type Key struct{ True, Named result.Class }

// Bin of the reliability table: stated probabilities, and how often they came true.
type Bin struct {
	N       int
	Sum     float64 // of the stated probabilities
	Correct float64
}

// Bins is the number of equal bins of probability from 0 to 1.
const Bins = 10

// Held tells how one number of the sample did over the scenes of a family.
type Held struct {
	Errors  []float64 // measured less realised, in the number's unit
	Covered int       // intervals that hold the lot's value
	Of      int       // intervals stated where the lot's value is known
	Widths  []float64 // of the intervals, in the number's unit
	Absent  int       // truths for which nothing was stated
}

// Aslant is the error of one piece's area, %, and how aslant the camera saw it: slope of the line of sight against straight down. Outline is the error of
// what it covers of the photo.
type Aslant struct {
	Lean          float64
	Kernel        bool
	Area, Outline float64
}

// Family sums what was found over scenes of one kind.
type Family struct {
	Name          string
	Scenes        int
	Loose, Strict Counts
	Lone          Lone
	Confusion     map[Key]int
	KernelStover  Counts // Hits: put on the right side; Extras: on the wrong side; Misses: on neither
	Sizes         map[string][]float64
	Aslant        []Aslant
	CountErrors   []float64 // found less true, % of true, per scene
	ScaleErrors   []float64 // %, signed
	Numbers       map[string]*Held
	Grains        []Grains  // of each scene with kernel pieces
	ClassErrors   []float64 // largest error of the four length classes, points, per scene where they are stated
	PassingMany   []float64 // errors of the passing share, points, in scenes with ManyKernels kernel pieces or more
	Reliability   [Bins]Bin
	Seconds       []float64 // of each measurement, start of the program included

	Refused          []string // usable scenes that were refused, with the reason
	Unusable         int
	UnusableAccepted []string // unusable scenes that were measured
}

// NewFamily starts an empty family.
func NewFamily(name string) *Family {
	f := &Family{Name: name, Confusion: map[Key]int{}, Sizes: map[string][]float64{}, Numbers: map[string]*Held{}}
	for _, n := range Numbers {
		f.Numbers[n.Name] = &Held{}
	}
	return f
}

// Add scores the measurement of one scene. A refused usable scene counts all its pieces as missed; of
// an unusable one only the refusal is looked at.
func (f *Family) Add(t Truth, d result.Document) {
	f.Scenes++
	photo := result.Photo{Status: result.Refused}
	if len(d.Photos) > 0 {
		photo = d.Photos[0]
	}
	refused := photo.Status != result.Measured
	if !t.Usable {
		f.addUnusable(t, refused)
		return
	}
	if refused {
		f.Refused = append(f.Refused, t.Name+": "+problem(photo))
		photo.Particles = nil
	}
	finds := make([]Found, len(photo.Particles))
	for i, p := range photo.Particles {
		finds[i] = NewFound(p)
	}
	pairs := Match(t.Things, finds, Loose)
	loose := Count(t.Things, finds, pairs)
	f.Loose.Add(loose)
	f.addLone(Unpaired(t.Things, finds, pairs))
	f.Strict.Add(Count(t.Things, finds, Match(t.Things, finds, Strict)))
	if truths := loose.Hits + loose.Misses; truths > 0 {
		f.CountErrors = append(f.CountErrors, 100*float64(loose.Extras-loose.Misses)/float64(truths))
	}
	f.addNames(t.Things, finds, pairs)
	f.addSizes(t.Things, finds, pairs)
	if g, ok := countGrains(t.Things, finds, pairs); ok {
		f.Grains = append(f.Grains, g)
	}
	if refused {
		return
	}
	if photo.Scale != nil && t.MMPerPx > 0 {
		f.ScaleErrors = append(f.ScaleErrors, 100*(photo.Scale.MMPerPx/t.MMPerPx-1))
	}
	f.AddNumbers(t, d.Sample)
	f.addClasses(t, d.Sample)
	f.addPassing(t, d.Sample)
}

func (f *Family) addLone(l Lone) {
	f.Lone.Missed = append(f.Lone.Missed, l.Missed...)
	f.Lone.Extra = append(f.Lone.Extra, l.Extra...)
}

func (f *Family) addUnusable(t Truth, refused bool) {
	f.Unusable++
	if !refused {
		f.UnusableAccepted = append(f.UnusableAccepted, t.Name)
	}
}

func problem(p result.Photo) string {
	if p.Problem == nil {
		return "no reason given"
	}
	return *p.Problem
}

// addNames counts the names given to pieces that are not cut by the frame.
func (f *Family) addNames(truths []Thing, finds []Found, pairs []Pair) {
	found := make([]bool, len(truths))
	for _, p := range pairs {
		t, g := truths[p.Truth], finds[p.Find]
		found[p.Truth] = true
		if t.Small || t.Cut {
			continue
		}
		f.Confusion[Key{t.Class, g.Class}]++
		side, sure := g.side()
		switch {
		case !sure:
			f.KernelStover.Misses++
		case side == t.Class.IsKernel():
			f.KernelStover.Hits++
		default:
			f.KernelStover.Extras++
		}
		f.addProbability(g.PWhole, t.Class == result.WholeKernel)
		f.addProbability(g.PBroken, t.Class == result.BrokenKernel)
		f.addProbability(g.PStover, t.Class == result.Stover)
	}
	for i, t := range truths {
		if !found[i] && !t.Small && !t.Cut {
			f.Confusion[Key{t.Class, Missed}]++
		}
	}
}

func (f *Family) addProbability(p float64, came bool) {
	b := &f.Reliability[min(max(int(p*Bins), 0), Bins-1)]
	b.N++
	b.Sum += p
	if came {
		b.Correct++
	}
}

// SideRight is the share of found pieces put on the right side, kernel or stover; on neither is not right.
func (f *Family) SideRight() float64 {
	c := f.KernelStover
	return ratio(c.Hits, c.Hits+c.Misses+c.Extras)
}

// Unsure is the number of found pieces without a class.
func (f *Family) Unsure() (n int) {
	for k, m := range f.Confusion {
		if k.Named == result.Unsure {
			n += m
		}
	}
	return n
}

// Sizes that are compared, by side and measure.
var SizeNames = []string{"kernel length", "kernel width", "kernel area", "stover length", "stover width", "stover area"}

// addSizes compares sizes of whole-seen pieces that were named on the right side: length and width
// are defined by the side. An unsure piece is on the side that its probabilities favour.
func (f *Family) addSizes(truths []Thing, finds []Found, pairs []Pair) {
	for _, p := range pairs {
		t, g := truths[p.Truth], finds[p.Find]
		kernel := g.Class.IsKernel() || (g.Class == result.Unsure && g.PKernel() >= 0.5)
		if t.Small || t.Cut || g.CutByEdge || kernel != t.Class.IsKernel() {
			continue
		}
		side := "stover "
		if kernel {
			side = "kernel "
		}
		f.addSize(side+"length", g.LengthMM, t.LengthMM)
		f.addSize(side+"width", g.WidthMM, t.WidthMM)
		f.addSize(side+"area", g.AreaMM2, t.AreaMM2)
		f.addAslant(t, g, kernel)
	}
}

// addAslant leaves out what lies under other pieces, of which the photo does not show all.
func (f *Family) addAslant(t Thing, g Found, kernel bool) {
	seen := t.Shape.Area()
	if math.IsNaN(t.Lean) || t.Hidden > 0 || seen == 0 || t.AreaMM2 == 0 {
		return
	}
	f.Aslant = append(f.Aslant, Aslant{t.Lean, kernel, 100 * (g.AreaMM2/t.AreaMM2 - 1), 100 * (g.Shape.Area()/seen - 1)})
}

func (f *Family) addSize(name string, got, want float64) {
	if want > 0 {
		f.Sizes[name] = append(f.Sizes[name], 100*(got/want-1))
	}
}

// AddNumbers scores the sample numbers of one scene, and nothing else.
func (f *Family) AddNumbers(t Truth, s *result.Sample) {
	for _, n := range Numbers {
		want, known := t.Scene[n.Name]
		if !known {
			continue
		}
		h := f.Numbers[n.Name]
		got := n.Get(s)
		if got == nil {
			h.Absent++
			continue
		}
		unit := 1.0
		if n.Relative {
			unit = 100 / want
		}
		h.Errors = append(h.Errors, (got.Value-want)*unit)
		lot, known := t.Lot[n.Name]
		if got.Level == 0 || !known {
			continue
		}
		h.Of++
		h.Widths = append(h.Widths, (got.High-got.Low)*math.Abs(unit))
		if got.Low <= lot && lot <= got.High {
			h.Covered++
		}
	}
}

// Merge adds another family's scenes.
func (f *Family) Merge(o *Family) {
	f.Scenes += o.Scenes
	f.Loose.Add(o.Loose)
	f.Strict.Add(o.Strict)
	f.addLone(o.Lone)
	f.KernelStover.Add(o.KernelStover)
	for k, n := range o.Confusion {
		f.Confusion[k] += n
	}
	for k, v := range o.Sizes {
		f.Sizes[k] = append(f.Sizes[k], v...)
	}
	f.Aslant = append(f.Aslant, o.Aslant...)
	f.CountErrors = append(f.CountErrors, o.CountErrors...)
	f.ScaleErrors = append(f.ScaleErrors, o.ScaleErrors...)
	f.Grains = append(f.Grains, o.Grains...)
	f.ClassErrors = append(f.ClassErrors, o.ClassErrors...)
	f.PassingMany = append(f.PassingMany, o.PassingMany...)
	for k, h := range o.Numbers {
		m := f.Numbers[k]
		m.Errors, m.Widths = append(m.Errors, h.Errors...), append(m.Widths, h.Widths...)
		m.Covered, m.Of, m.Absent = m.Covered+h.Covered, m.Of+h.Of, m.Absent+h.Absent
	}
	for i, b := range o.Reliability {
		f.Reliability[i].N += b.N
		f.Reliability[i].Sum += b.Sum
		f.Reliability[i].Correct += b.Correct
	}
	f.Refused = append(f.Refused, o.Refused...)
	f.Unusable += o.Unusable
	f.UnusableAccepted = append(f.UnusableAccepted, o.UnusableAccepted...)
}
