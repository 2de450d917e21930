package rulers

import (
	"math"
	"strings"
	"testing"

	"gristmark/calib"
)

// One scene of each ruler, of seeds that anything may be tuned on: the scale is found, within twice what 95 % of the
// errors are to stay in, and the interval within four standard deviations.
func TestEveryRulerIsFound(t *testing.T) {
	for i, r := range Rulers()[:6] {
		s, err := Run(r, 1_000_000+uint64(i)*10_000, 1, 1)
		if err != nil {
			t.Fatal(err)
		}
		x := s.Scores[0]
		switch {
		case x.Problem != "":
			t.Errorf("%s: %s", r.Name, x.Problem)
		case r.GoalP > 0 && math.Abs(x.Error) > 2*r.GoalP/100:
			t.Errorf("%s: off by %.2f %%", r.Name, 100*x.Error)
		case math.Abs(x.True) > 4*x.SD || x.SD <= 0:
			t.Errorf("%s: off by %.2f %% with a s.d. of %.2f %%", r.Name, 100*x.True, 100*x.SD)
		case quantile(x.Marks, 0.5) > 3*goalCornerPx:
			t.Errorf("%s: marks off by %.2f px", r.Name, quantile(x.Marks, 0.5))
		}
	}
}

// A photo of each pattern without a ruler gives no scale.
func TestNoScaleWithoutARuler(t *testing.T) {
	for _, kind := range falseKinds {
		n := len(without(kind))
		if kind != calib.Auto {
			n /= 2
		}
		f, err := RunFalse(kind, 1_000_000, n, 1)
		if err != nil {
			t.Fatal(err)
		}
		if len(f.Found) > 0 {
			t.Errorf("%s: %s", kind, strings.Join(f.Found, "; "))
		}
	}
}

func TestReportSaysWhatWasMissed(t *testing.T) {
	r := Ruler{Name: "card", GoalP: 0.4}
	good := Score{Error: 0.001, True: 0.002, SD: 0.0025, Along: math.NaN(), Marks: []float64{0.05}}
	bad := Score{Error: 0.09, True: 0.09, SD: 0.002, Along: math.NaN(), Marks: []float64{0.5}}
	s := Summary{Ruler: r, Scores: []Score{good, good, bad, {Problem: "none"}}}
	missed := strings.Join(Missed([]Summary{s}), "\n")
	for _, want := range []string{"scale errors", "found in 75.0 %", "holds the truth in 66.7 %", "1 scales are off"} {
		if !strings.Contains(missed, want) {
			t.Errorf("%q is not in:\n%s", want, missed)
		}
	}
	if table := Report([]Summary{s}); !strings.Contains(table, "| card | 4 | 75.0 |") {
		t.Error(table)
	}
	if q := quantile([]float64{-3, 1, 2}, 0.5); q != 2 {
		t.Errorf("median of sizes %g", q)
	}
}

// Patterns that hold a kind's parts are not among those in which it must not be found.
func TestWithout(t *testing.T) {
	for _, p := range without(calib.Grid) {
		if p.lattice {
			t.Error(p.name)
		}
	}
	if len(without(calib.Auto)) != len(patterns) {
		t.Error("auto leaves patterns out")
	}
}
