package compare

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gristmark/internal/estimate"
	"gristmark/internal/kernel"
	"gristmark/internal/result"
	"gristmark/internal/sieve"
	"gristmark/internal/stats"
	"gristmark/internal/words"
)

// The kinds of sample.
const (
	Photos = "photos"
	Shakes = "shakes"
)

// Measure is a figure that both samples have.
type Measure struct {
	Name string // as in the documents
	Unit string // points (of percent) or mm
	More string // what is said of the sample with more of it, with %s for the two names
	Less string
}

// Measures in the order in which a difference is worth telling.
var Measures = []Measure{
	{"passing_4_75_pct", "points", words.K("%s broke the kernels more than %s"), words.K("%s broke the kernels less than %s")},
	{"whole_pct", "points", words.K("%s left more kernels whole than %s"), words.K("%s left fewer kernels whole than %s")},
	{"geometric_mean_mm", "mm", words.K("%s is longer than %s"), words.K("%s is shorter than %s")},
	{"top_pct", "points", words.K("%s has more in the top box than %s"), words.K("%s has less in the top box than %s")},
	{"middle_pct", "points", words.K("%s has more in the middle box than %s"), words.K("%s has less in the middle box than %s")},
	{"lower_pct", "points", words.K("%s has more in the lower box than %s"), words.K("%s has less in the lower box than %s")},
	{"pan_pct", "points", words.K("%s has more in the pan than %s"), words.K("%s has less in the pan than %s")},
	{"top_middle_pct", "points", words.K("%s has more in the two upper boxes than %s"), words.K("%s has less in the two upper boxes than %s")},
}

// Reading is one measure of one unit.
type Reading struct {
	Value  float64
	Weight float64 // of the unit in the sample's figure, > 0
}

// Unit is one independent look at the sample: a spread on the tray, or a shake.
type Unit struct {
	Name     string
	Readings map[string]Reading
}

// Side is one of the two samples.
type Side struct {
	Label  string
	Kind   string                     // Photos or Shakes
	Units  []Unit                     // independent looks
	Sample map[string]result.Estimate // the sample's own figures; Level 0: without an interval
	Own    map[string]float64         // standard error of the figure that the particles of all units give by themselves; absent: not known
	Models map[string]float64         // half width of the figure's interval that the models leave, whatever the number of particles
	Whole  int                        // kernels named whole, of Kernels; photos only
	Kernel int                        // kernel pieces named
	SHA256 []string                   // of the photos
	Basis  string                     // what the passing share rests on
	State  string                     // of the crop, fresh or fermented; empty: not told, taken as fresh

	Corrected bool // the document's passing share was corrected to a laboratory; the one from outlines is taken here
}

// FromDocument takes the measurement document of a sample.
func FromDocument(doc *result.Document, label string) (Side, error) {
	s := Side{Label: label, Kind: Photos, Sample: map[string]result.Estimate{}}
	if doc.Schema != result.Schema {
		return s, fmt.Errorf("compare: %s has the schema %q, not %s", label, doc.Schema, result.Schema)
	}
	if doc.Sample == nil {
		return s, fmt.Errorf("compare: %s has no measured photo", label)
	}
	s.Sample, s.State = figures(doc.Sample), doc.Sample.State
	opt := estimate.Options{Resamples: 200}
	if k := doc.Sample.Kernels; k != nil {
		s.Whole, s.Kernel, s.Basis = k.Whole, k.Whole+k.Broken, k.Basis
		if k.Outlines475Pct != nil {
			s.Sample["passing_4_75_pct"], s.Basis, s.Corrected = *k.Outlines475Pct, estimate.Basis, true
		}
		if k.UnbrokenAreaMM2 > 0 {
			opt.Kernel = kernelLike(k.UnbrokenAreaMM2)
		}
	}
	groups := spreads(doc.Photos)
	s.Own, s.Models = doubts(groups, opt)
	for _, group := range groups {
		unit := Unit{Name: group[0].File, Readings: map[string]Reading{}}
		if sample := estimate.Sample(group, opt); sample != nil {
			unit.Readings = readings(group[0], sample)
		}
		s.Units = append(s.Units, unit)
	}
	for _, p := range doc.Photos {
		if p.Status == result.Measured && p.SHA256 != "" {
			s.SHA256 = append(s.SHA256, p.SHA256)
		}
	}
	return s, nil
}

// kernelLike is the default kernel scaled to a projected area, mm².
func kernelLike(area float64) kernel.Unbroken {
	k := kernel.Default()
	f := math.Sqrt(area / k.AreaMM2)
	k.LengthMM, k.WidthMM, k.AreaMM2 = k.LengthMM*f, k.WidthMM*f, area
	return k
}

// spreads groups the measured photos by spread, in order; copies are left out.
func spreads(photos []result.Photo) [][]result.Photo {
	var out [][]result.Photo
	at := map[string]int{}
	for _, p := range photos {
		if p.Status != result.Measured || p.DuplicateOf != "" {
			continue
		}
		root := cmp.Or(p.SameSpreadAs, p.File)
		i, ok := at[root]
		if !ok {
			i = len(out)
			out, at[root] = append(out, nil), i
		}
		at[p.File] = i
		out[i] = append(out[i], p)
	}
	return out
}

// figures are the estimates of a sample by measure.
func figures(s *result.Sample) map[string]result.Estimate {
	out := map[string]result.Estimate{}
	put := func(name string, e *result.Estimate) {
		if e != nil {
			out[name] = *e
		}
	}
	if k := s.Kernels; k != nil {
		put("passing_4_75_pct", k.Passing475Pct)
		put("whole_pct", k.WholePct)
	}
	if p := s.Pieces; p != nil {
		put("geometric_mean_mm", p.GeometricMeanMM)
		if b := p.BoxPct; b != nil {
			put("top_pct", &b.Top)
			put("middle_pct", &b.Middle)
			put("lower_pct", &b.Lower)
			put("pan_pct", &b.Pan)
		}
	}
	return out
}

// doubts takes apart what all particles of a sample, seen as one spread, leave in doubt: the part that more particles lessen, as a
// standard error, and the part of models and scale, which they do not, as a half width. The same particles seen copies times over have the
// same second part and a first part less by the number of copies, in squares. Between two samples measured alike the second is
// much the same on both sides and cancels.
func doubts(groups [][]result.Photo, opt estimate.Options) (own, models map[string]float64) {
	const copies = 4
	own, models = map[string]float64{}, map[string]float64{}
	if len(groups) == 0 {
		return own, models
	}
	once := merged(groups)
	many := once
	for range copies - 1 {
		many.Particles = append(many.Particles[:len(many.Particles):len(many.Particles)], once.Particles...)
	}
	one, all := estimate.Sample([]result.Photo{once}, opt), estimate.Sample([]result.Photo{many}, opt)
	if one == nil || all == nil {
		return own, models
	}
	few := figures(one)
	for name, e := range figures(all) {
		h1, hc := square((few[name].High-few[name].Low)/2), square((e.High-e.Low)/2)
		particles := max(0, h1-hc) * copies / (copies - 1)
		own[name] = math.Sqrt(particles) / stats.NormalQuantile(level)
		models[name] = math.Sqrt(max(0, h1-particles))
	}
	return own, models
}

func square(v float64) float64 { return v * v }

// merged puts the particles of the first photo of each spread into one.
func merged(groups [][]result.Photo) result.Photo {
	out := groups[0][0]
	out.Particles = nil
	for _, g := range groups {
		out.Particles = append(out.Particles, g[0].Particles...)
	}
	return out
}

// readings are the figures of one unit, weighed by the expected number of pieces that they rest on; fewer than one is no reading.
func readings(photo result.Photo, s *result.Sample) map[string]Reading {
	out := map[string]Reading{}
	var kernels, pieces float64
	for _, p := range photo.Particles {
		kernels += p.PKernel()
		pieces += p.PStover
	}
	for name, e := range figures(s) {
		w := pieces
		if name == "passing_4_75_pct" || name == "whole_pct" {
			w = kernels
		}
		if w >= 1 {
			out[name] = Reading{Value: e.Value, Weight: w}
		}
	}
	return out
}

// FromWeighing takes weighed shakes of a sample.
func FromWeighing(w sieve.Weighing, label string) (Side, error) {
	s := Side{Label: label, Kind: Shakes, Sample: map[string]result.Estimate{}}
	all, err := shakeFigures(w.Shakes)
	if err != nil {
		return s, err
	}
	s.Sample = all
	for i, shake := range w.Shakes {
		one, err := shakeFigures([]sieve.Shake{shake})
		if err != nil {
			return s, err
		}
		unit := Unit{Name: cmp.Or(shake.Name, fmt.Sprintf("shake %d", i+1)), Readings: map[string]Reading{}}
		for name, e := range one {
			unit.Readings[name] = Reading{Value: e.Value, Weight: shake.TotalG()}
		}
		s.Units = append(s.Units, unit)
	}
	return s, nil
}

func shakeFigures(shakes []sieve.Shake) (map[string]result.Estimate, error) {
	r, err := sieve.Analyse(sieve.Weighing{Shakes: shakes, Given: "mass"}, sieve.Terms{})
	if err != nil {
		return nil, err
	}
	out := map[string]result.Estimate{"geometric_mean_mm": {Value: r.Geometric.MeanMM, Low: r.Geometric.MeanMM, High: r.Geometric.MeanMM}}
	parts, _ := sieve.BoxShares(shakes)
	for part, s := range parts {
		out[part+"_pct"] = s.Estimate()
	}
	return out, nil
}

// common lists the measures that both sides have, in the order of [Measures].
func common(a, b Side) []Measure {
	return slices.DeleteFunc(slices.Clone(Measures), func(m Measure) bool {
		_, inA := a.Sample[m.Name]
		_, inB := b.Sample[m.Name]
		return !inA || !inB
	})
}
