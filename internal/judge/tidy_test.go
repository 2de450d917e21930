package judge

import (
	"math"
	"testing"

	"gristmark/internal/result"
)

func TestTidyDropsWhatIsNoNumber(t *testing.T) {
	nan := math.NaN()
	s := result.Sample{
		Kernels: &result.Kernels{WholePct: &result.Estimate{Value: nan}, Passing475Pct: &result.Estimate{Value: 12.34567, Low: 1, High: 20, Level: 0.95}},
		Pieces:  &result.Pieces{GeometricSD: &nan, LengthClassesPct: &result.LengthClasses{Over19: nan}, BoxPct: &result.BoxShares{Pan: result.Estimate{Low: nan}}},
	}
	tidy(&s)
	if s.Kernels.WholePct != nil || s.Pieces.GeometricSD != nil || s.Pieces.LengthClassesPct != nil || s.Pieces.BoxPct != nil || s.Advice == nil {
		t.Errorf("kept %+v, %+v", s.Kernels, s.Pieces)
	}
	if s.Kernels.Passing475Pct.Value != 12.346 {
		t.Errorf("rounded to %v", s.Kernels.Passing475Pct.Value)
	}
}
