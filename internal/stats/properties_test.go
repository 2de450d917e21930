package stats

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Intervals lie in 0..1, hold their share, and mirror when successes and failures change places.
func TestShareIntervalsAreSane(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 400).Draw(t, "n")
		x := rapid.IntRange(0, n).Draw(t, "x")
		level := rapid.Float64Range(0.5, 0.999).Draw(t, "level")
		p := float64(x) / float64(n)
		for what, f := range map[string]func(x int) Interval{
			"Wilson":          func(x int) Interval { return Wilson(float64(x), float64(n), level) },
			"Clopper-Pearson": func(x int) Interval { return ClopperPearson(x, n, level) },
		} {
			got, other := f(x), f(n-x)
			if got.Low < 0 || got.High > 1 || !(got.Low <= p+1e-12 && p <= got.High+1e-12) || got.Width() <= 0 {
				t.Fatalf("%s %d/%d: %v", what, x, n, got)
			}
			if math.Abs(got.Low-(1-other.High)) > 1e-9 {
				t.Fatalf("%s %d/%d does not mirror: %v, %v", what, x, n, got, other)
			}
		}
	})
}

func TestNonsenseSaysNothing(t *testing.T) {
	for _, got := range []Interval{Wilson(0, 0, 0.95), Wilson(5, 3, 0.95), Wilson(math.NaN(), 3, 0.95), ClopperPearson(-1, 4, 0.95), ClopperPearson(0, 0, 0.95)} {
		if got != (Interval{0, 1}) {
			t.Errorf("got %v, want 0..1", got)
		}
	}
	if got := NewcombeDifference(0, 0, 1, 2, 0.95); got != (Interval{-1, 1}) {
		t.Errorf("difference with nothing: %v", got)
	}
	if z, p := PooledZ(0, 5, 0, 5); z != 0 || p != 1 {
		t.Errorf("none of none differ: %g %g", z, p)
	}
}

// Fisher's test does not care which sample comes first, and neither does a difference but for its sign.
func TestSwappingSamples(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n1, n2 := rapid.IntRange(1, 60).Draw(t, "n1"), rapid.IntRange(1, 60).Draw(t, "n2")
		x1, x2 := rapid.IntRange(0, n1).Draw(t, "x1"), rapid.IntRange(0, n2).Draw(t, "x2")
		if a, b := FisherExact(x1, n1, x2, n2), FisherExact(x2, n2, x1, n1); math.Abs(a-b) > 1e-9 || a <= 0 || a > 1 {
			t.Fatalf("p %g and %g", a, b)
		}
		a := NewcombeDifference(float64(x1), float64(n1), float64(x2), float64(n2), 0.95)
		b := NewcombeDifference(float64(x2), float64(n2), float64(x1), float64(n1), 0.95)
		if math.Abs(a.Low+b.High) > 1e-12 || math.Abs(a.High+b.Low) > 1e-12 {
			t.Fatalf("differences %v and %v", a, b)
		}
	})
}

// Exact coverage of the exact interval by summing the binomial: at least the level everywhere; Wilson's averages 93 to 97 %.
func TestCoverageBySummation(t *testing.T) {
	const n = 40
	average := 0.0
	for p := 0.025; p < 1; p += 0.025 {
		var exact, wilson float64
		for x := 0; x <= n; x++ {
			mass := math.Exp(logChoose(n, x) + float64(x)*math.Log(p) + float64(n-x)*math.Log(1-p))
			if ClopperPearson(x, n, 0.95).Holds(p) {
				exact += mass
			}
			if Wilson(float64(x), n, 0.95).Holds(p) {
				wilson += mass
			}
		}
		if exact < 0.95 {
			t.Errorf("share %g: the exact interval holds %.4f", p, exact)
		}
		average += wilson / 39
	}
	if average < 0.93 || average > 0.97 {
		t.Errorf("Wilson averages %.4f", average)
	}
}

// Student's t of few values: textbook quantiles 12.706, 4.303, 2.262 (any table), and the interval of 1..5.
func TestStudent(t *testing.T) {
	for df, want := range map[float64]float64{1: 12.706, 2: 4.303, 9: 2.262, 1e7: 1.960} {
		near(t, "t", StudentQuantile(0.95, df), want, 6e-4)
	}
	// mean 3, s.d. sqrt 2.5, t(4) 2.776445
	nearInterval(t, "1..5", StudentMean([]float64{1, 2, 3, 4, 5}, 0.95), 1.036757, 4.963243, sixDigits)
	if got := StudentMean([]float64{3}, 0.95); !math.IsInf(got.High, 1) || !math.IsInf(got.Low, -1) {
		t.Errorf("one value: %v", got)
	}
}

// Shewhart's constants for ranges of two: 2.66 = 3/1.128 and 3.267, from memory, as in any table.
func TestIndividualsLimits(t *testing.T) {
	got := IndividualsLimits([]float64{10, 12, 11, 13, 9})
	near(t, "centre", got.Centre, 11, 1e-12)
	near(t, "mean range", got.MeanRange, 2.25, 1e-12)
	near(t, "high", got.High, 11+2.66*2.25, 0.005*2.25)
	near(t, "low", got.Low, 11-2.66*2.25, 0.005*2.25)
	near(t, "range high", got.RangeHigh, 3.267*2.25, 0.001*2.25)
	if one := IndividualsLimits([]float64{4}); !math.IsInf(one.High, 1) {
		t.Errorf("one value has limits %+v", one)
	}
}

// With equal denominators the ratio is the mean and its error Student's.
func TestRatioErrorIsThatOfTheMean(t *testing.T) {
	num, den := []float64{2, 4, 9}, []float64{1, 1, 1}
	_, sd := MeanSD(num)
	se, df := RatioError(num, den)
	near(t, "s.e.", se, sd/math.Sqrt(3), 1e-12)
	near(t, "df", df, 2, 0)
	near(t, "ratio", Ratio(num, den), 5, 1e-12)
	if se, df := RatioError([]float64{2, 0}, []float64{3, 0}); !math.IsInf(se, 1) || df != 0 {
		t.Errorf("one unit that weighs: %g %g", se, df)
	}
}

func TestEffectiveUnits(t *testing.T) {
	near(t, "equal", EffectiveUnits([]float64{3, 3, 3, 3}), 4, 1e-12)
	near(t, "one outweighs", EffectiveUnits([]float64{100, 1e-6}), 1, 1e-6)
	near(t, "none", EffectiveUnits(nil), 0, 0)
}

// Normal residuals carry about as many degrees of freedom as there are (their fourth moment is 3); one large one carries one.
func TestVarianceDF(t *testing.T) {
	r, x := Rand(3), make([]float64, 4000)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	near(t, "normal", VarianceDF(x), 4000, 600)
	near(t, "one", VarianceDF([]float64{9, 1e-3, 1e-3, 1e-3}), 3, 1) // 2/(1 - 1/4)
}

// The resampled ratio spreads as the linearised one says, to the error of 4000 draws and of linearisation.
func TestClusterResample(t *testing.T) {
	r := Rand(11)
	num, den := make([]float64, 30), make([]float64, 30)
	for i := range num {
		den[i] = 1 + r.Float64()
		num[i] = den[i] * (0.5 + 0.1*r.NormFloat64())
	}
	se, _ := RatioError(num, den)
	got := StandardError(ClusterResample(num, den, 4000, 1)) * math.Sqrt(30./29)
	near(t, "s.e. over linearised", got/se, 1, 0.06)
}

func TestResampleIsSeeded(t *testing.T) {
	x := []float64{1, 2, 5}
	a, b := Resample(3, 50, 9, meanOf(x)), Resample(3, 50, 9, meanOf(x))
	for i := range a {
		if a[i] != b[i] || (i > 0 && a[i] < a[i-1]) {
			t.Fatalf("replicate %d: %g and %g", i, a[i], b[i])
		}
	}
}

func TestUnitsForHalfWidth(t *testing.T) {
	n := UnitsForHalfWidth(10, 5, 0.95)
	half := func(n int) float64 { return StudentQuantile(0.95, float64(n-1)) * 10 / math.Sqrt(float64(n)) }
	if half(n) > 5 || half(n-1) <= 5 {
		t.Errorf("%d units: half widths %g, %g with one less", n, half(n), half(n-1))
	}
	if got := UnitsForHalfWidth(1, 0, 0.95); got != 0 {
		t.Errorf("a half width of nothing takes %d", got)
	}
}

// Weights are at least 1, grow with the piece, and do not hang on the unit.
func TestFrameWeightProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.Float64Range(50, 500).Draw(t, "w"), rapid.Float64Range(50, 500).Draw(t, "h")
		x, y := rapid.Float64Range(0, 600).Draw(t, "x"), rapid.Float64Range(0, 600).Draw(t, "y")
		a := FrameWeight(w, h, x, y)
		if a < 1 || a > MaxFrameWeight || FrameWeight(w, h, x+1, y) < a {
			t.Fatalf("weight %g", a)
		}
		if b := FrameWeight(3*w, 3*h, 3*x, 3*y); math.Abs(a-b) > 1e-9*a {
			t.Fatalf("unit matters: %g, %g", a, b)
		}
	})
}
