package cup

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"gristmark/internal/result"
)

// Exact Poisson intervals of 0, 1, 2, 4, 10 and 25 counts in one cup (derived); half of the last digit.
func TestPoissonIntervals(t *testing.T) {
	for _, c := range []struct {
		n         int
		low, high float64
	}{{0, 0, 3.68888}, {1, 0.02532, 5.57164}, {2, 0.24221, 7.22469}, {4, 1.08987, 10.24159}, {10, 4.79539, 18.39036}, {25, 16.17868, 36.90493}} {
		d, err := Judge(c.n, 1, Litres, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(d.PerCup.Low-c.low) > 6e-6 || math.Abs(d.PerCup.High-c.high) > 6e-6 {
			t.Errorf("%d: %g to %g", c.n, d.PerCup.Low, d.PerCup.High)
		}
		if math.Abs(d.PerLitre.Value*Litres-float64(c.n)) > 1e-12 {
			t.Errorf("%d per cup is %g per litre", c.n, d.PerLitre.Value)
		}
	}
}

// At most 2 a cup is good, 2 to 4 fair (trade press); one cup decides little.
func TestVerdict(t *testing.T) {
	for _, c := range []struct {
		count, cups int
		want        string
	}{{2, 1, Undecided}, {0, 1, Undecided}, {0, 2, Good}, {10, 10, Good}, {300, 100, Fair}, {30, 3, Poor}, {3, 1, Undecided}} {
		d, err := Judge(c.count, c.cups, Litres, 0.05)
		if err != nil || d.Verdict != c.want {
			t.Errorf("%d in %d cups: %v %v", c.count, c.cups, d, err)
		}
	}
}

// The number of cups keeps both risks, and one cup fewer cannot: checked by the Poisson sums themselves.
func TestCupsToTell(t *testing.T) {
	for _, risk := range []float64{0.01, 0.05, 0.1, 0.2} {
		n, err := CupsToTell(2, 4, risk)
		if err != nil {
			t.Fatal(err)
		}
		if !tells(n, risk) || tells(n-1, risk) {
			t.Errorf("risk %g: %d cups", risk, n)
		}
	}
	if _, err := CupsToTell(2, 4, 0.7); err == nil {
		t.Error("a risk of 0.7 passed")
	}
	if _, err := CupsToTell(2, 2.0001, 0.01); err == nil {
		t.Error("2 told from 2.0001")
	}
}

// tells adds up the Poisson terms one by one.
func tells(n int, risk float64) bool {
	for c := 0; c < 40*max(1, n); c++ {
		over, under := 1.0, 0.0
		for k := 0; k <= c; k++ {
			over -= distuv.Poisson{Lambda: 2 * float64(n)}.Prob(float64(k))
			under += distuv.Poisson{Lambda: 4 * float64(n)}.Prob(float64(k))
		}
		if over <= risk && under <= risk && n > 0 {
			return true
		}
	}
	return false
}

func TestCountPhotos(t *testing.T) {
	share := func(v float64) *float64 { return &v }
	measured := result.Photo{Status: result.Measured, Particles: []result.Particle{
		{Class: result.WholeKernel, KernelShare: share(1)}, {Class: result.BrokenKernel, KernelShare: share(0.5)},
		{Class: result.BrokenKernel, KernelShare: share(0.49)}, {Class: result.Stover}, {Class: result.BrokenKernel},
	}}
	again, copied := measured, measured
	again.SameSpreadAs, copied.DuplicateOf = "a.jpg", "a.jpg"
	count, cups := CountPhotos([]result.Photo{measured, again, copied, {Status: result.Refused}, measured})
	if count != 4 || cups != 2 {
		t.Errorf("%d in %d cups", count, cups)
	}
}

// More cups at the same rate narrow the interval; the cup's size does not change what a litre holds.
func TestScaling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		count, cups := rapid.IntRange(0, 50).Draw(t, "count"), rapid.IntRange(1, 9).Draw(t, "cups")
		a, err := Judge(count, cups, Litres, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Judge(4*count, 4*cups, Litres, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		if b.PerCup.High-b.PerCup.Low > a.PerCup.High-a.PerCup.Low {
			t.Fatal("four times the cups know less")
		}
		c, err := Judge(count, 2*cups, Litres/2, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(c.PerLitre.Value-a.PerLitre.Value) > 1e-9 {
			t.Fatal("a litre changed")
		}
	})
}

func TestJudgeRefuses(t *testing.T) {
	for _, c := range []struct {
		count, cups  int
		litres, risk float64
	}{{-1, 1, 1, 0.05}, {1, 0, 1, 0.05}, {1, 1, 946, 0.05}, {1, 1, 1, 0}} {
		if _, err := Judge(c.count, c.cups, c.litres, c.risk); err == nil {
			t.Errorf("%+v passed", c)
		}
	}
}
