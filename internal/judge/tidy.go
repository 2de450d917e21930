package judge

import (
	"math"

	"gristmark/internal/result"
)

// decimals of the sample's numbers: well below what any sample resolves, short enough to read.
const decimals = 3

func round(v float64) float64 {
	p := math.Pow10(decimals)
	return math.Round(v*p) / p
}

func roundAll(values ...*float64) {
	for _, v := range values {
		*v = round(*v)
	}
}

func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// tidy rounds the estimates; one that is no number counts as absent.
func tidy(s *result.Sample) {
	if k := s.Kernels; k != nil {
		k.WholePct, k.Passing475Pct = tidyEstimate(k.WholePct), tidyEstimate(k.Passing475Pct)
		k.Outlines475Pct = tidyEstimate(k.Outlines475Pct)
		roundAll(&k.SmallestMM, &k.UnbrokenAreaMM2)
	}
	if p := s.Pieces; p != nil {
		p.GeometricMeanMM = tidyEstimate(p.GeometricMeanMM)
		if p.GeometricSD != nil {
			if !finite(*p.GeometricSD) {
				p.GeometricSD = nil
			} else {
				v := round(*p.GeometricSD)
				p.GeometricSD = &v
			}
		}
		p.BoxPct = tidyBox(p.BoxPct)
		p.LengthClassesPct = tidyClasses(p.LengthClassesPct)
	}
	if s.Advice == nil {
		s.Advice = []result.Advice{}
	}
}

func tidyEstimate(e *result.Estimate) *result.Estimate {
	if e == nil || !finite(e.Value, e.Low, e.High, e.Level) {
		return nil
	}
	return &result.Estimate{Value: round(e.Value), Low: round(e.Low), High: round(e.High), Level: e.Level}
}

func tidyBox(b *result.BoxShares) *result.BoxShares {
	if b == nil {
		return nil
	}
	out := *b
	for _, e := range []*result.Estimate{&out.Top, &out.Middle, &out.Lower, &out.Pan} {
		t := tidyEstimate(e)
		if t == nil {
			return nil
		}
		*e = *t
	}
	return &out
}

// tidyClasses rounds the classes; they still sum to 100 within the rounding.
func tidyClasses(c *result.LengthClasses) *result.LengthClasses {
	if c == nil || !finite(c.Over19, c.From8, c.From4, c.Under4) {
		return nil
	}
	out := *c
	roundAll(&out.Over19, &out.From8, &out.From4, &out.Under4)
	return &out
}
