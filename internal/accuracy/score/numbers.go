package score

import "gristmark/internal/result"

// Number is one number that a sample is judged by.
type Number struct {
	Name     string
	Path     []string // in the document's sample and in the truth file
	Unit     string   // of its error
	Relative bool     // errors are relative to the truth, in percent
	Get      func(*result.Sample) *result.Estimate
}

// Numbers are those that a measurement states.
var Numbers = []Number{
	{"share whole", []string{"whole_pct"}, "points", false, func(s *result.Sample) *result.Estimate { return kernels(s).WholePct }},
	{"passing 4.75 mm", []string{"passing_4_75_pct"}, "points", false, func(s *result.Sample) *result.Estimate { return kernels(s).Passing475Pct }},
	{"geometric mean", []string{"geometric_mean_mm"}, "%", true, func(s *result.Sample) *result.Estimate { return pieces(s).GeometricMeanMM }},
	{"geometric s.d.", []string{"geometric_sd"}, "%", true, func(s *result.Sample) *result.Estimate { return bare(pieces(s).GeometricSD) }},
	{"over 19 mm", []string{"length_classes_pct", "over_19"}, "points", false, class(func(c *result.LengthClasses) *float64 { return &c.Over19 })},
	{"8 to 19 mm", []string{"length_classes_pct", "8_to_19"}, "points", false, class(func(c *result.LengthClasses) *float64 { return &c.From8 })},
	{"4 to 8 mm", []string{"length_classes_pct", "4_to_8"}, "points", false, class(func(c *result.LengthClasses) *float64 { return &c.From4 })},
	{"under 4 mm", []string{"length_classes_pct", "under_4"}, "points", false, class(func(c *result.LengthClasses) *float64 { return &c.Under4 })},
	{"box, top", []string{"box_pct", "top"}, "points", false, box(func(b *result.BoxShares) *result.Estimate { return &b.Top })},
	{"box, middle", []string{"box_pct", "middle"}, "points", false, box(func(b *result.BoxShares) *result.Estimate { return &b.Middle })},
	{"box, lower", []string{"box_pct", "lower"}, "points", false, box(func(b *result.BoxShares) *result.Estimate { return &b.Lower })},
	{"box, pan", []string{"box_pct", "pan"}, "points", false, box(func(b *result.BoxShares) *result.Estimate { return &b.Pan })},
}

func kernels(s *result.Sample) *result.Kernels {
	if s == nil || s.Kernels == nil {
		return &result.Kernels{}
	}
	return s.Kernels
}

func pieces(s *result.Sample) *result.Pieces {
	if s == nil || s.Pieces == nil {
		return &result.Pieces{}
	}
	return s.Pieces
}

// bare makes an estimate without an interval: level 0.
func bare(v *float64) *result.Estimate {
	if v == nil {
		return nil
	}
	return &result.Estimate{Value: *v, Low: *v, High: *v}
}

func class(of func(*result.LengthClasses) *float64) func(*result.Sample) *result.Estimate {
	return func(s *result.Sample) *result.Estimate {
		if c := pieces(s).LengthClassesPct; c != nil {
			return bare(of(c))
		}
		return nil
	}
}

func box(of func(*result.BoxShares) *result.Estimate) func(*result.Sample) *result.Estimate {
	return func(s *result.Sample) *result.Estimate {
		if b := pieces(s).BoxPct; b != nil {
			return of(b)
		}
		return nil
	}
}
