package stats

import (
	"math"
	"testing"
)

// near fails unless got is within the half unit of the last printed digit.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.9g, want %.9g within %g", what, got, want, tolerance)
	}
}

func nearInterval(t *testing.T, what string, got Interval, low, high, tolerance float64) {
	t.Helper()
	near(t, what+" low", got.Low, low, tolerance)
	near(t, what+" high", got.High, high, tolerance)
}

const sixDigits = 6e-7 // six printed decimals

// Newcombe 1998, Stat. Med. 17:857, from memory, digits reproduced by direct calculation.
func TestIntervalsOfOneShare(t *testing.T) {
	for _, c := range []struct {
		x, n          int
		wilson, exact Interval
	}{
		{81, 263, Interval{0.255289, 0.366210}, Interval{0.252737, 0.367622}},
		{15, 148, Interval{0.062386, 0.160487}, Interval{0.057844, 0.161650}},
		{0, 20, Interval{0, 0.161125}, Interval{0, 0.168433}},
		{1, 29, Interval{0.006113, 0.171755}, Interval{0.000873, 0.177644}},
	} {
		nearInterval(t, "Wilson", Wilson(float64(c.x), float64(c.n), 0.95), c.wilson.Low, c.wilson.High, sixDigits)
		nearInterval(t, "Clopper-Pearson", ClopperPearson(c.x, c.n, 0.95), c.exact.Low, c.exact.High, sixDigits)
	}
}

// Newcombe 1998, Stat. Med. 17:873, from memory, digits reproduced by direct calculation.
func TestNewcombeDifference(t *testing.T) {
	nearInterval(t, "56/70 - 48/80", NewcombeDifference(56, 70, 48, 80, 0.95), 0.052431, 0.333873, sixDigits)
	nearInterval(t, "9/10 - 3/10", NewcombeDifference(9, 10, 3, 10, 0.95), 0.170523, 0.809018, sixDigits)
	nearInterval(t, "0/10 - 0/20", NewcombeDifference(0, 10, 0, 20, 0.95), -0.161125, 0.277533, sixDigits)
}

// Textbook examples of the pooled two-sample test of proportions.
func TestPooledZ(t *testing.T) {
	z, _ := PooledZ(140, 200, 255, 340)
	near(t, "140/200 v 255/340", z, -1.266015, sixDigits)
	z, p := PooledZ(28, 254, 36, 301)
	near(t, "28/254 v 36/301", z, -0.344135, sixDigits)
	near(t, "its p", p, 0.730745, sixDigits)
}

// Fisher's tea tasting, and the larger table of Newcombe 1998; from memory, digits reproduced.
func TestFisherExact(t *testing.T) {
	near(t, "3/4 v 1/4", FisherExact(3, 4, 1, 4), 0.485714, sixDigits)
	near(t, "56/70 v 48/80", FisherExact(56, 70, 48, 80), 0.012521, sixDigits)
	near(t, "margins of nothing", FisherExact(0, 5, 0, 7), 1, 1e-12)
}

// Derived: chi-squared quantiles over two (Garwood 1936).
func TestPoissonExact(t *testing.T) {
	for _, c := range []struct {
		count     int
		low, high float64
	}{{0, 0, 3.68888}, {1, 0.02532, 5.57164}, {2, 0.24221, 7.22469}, {4, 1.08987, 10.24159}, {10, 4.79539, 18.39036}, {25, 16.17868, 36.90493}} {
		nearInterval(t, "Poisson", PoissonExact(c.count, 0.95), c.low, c.high, 6e-6)
	}
}

func meanOf(x []float64) func([]int) float64 {
	return func(index []int) float64 {
		s := 0.0
		for _, i := range index {
			s += x[i]
		}
		return s / float64(len(index))
	}
}

// Derived: all 46 656 resamples of six values.
func TestBootstrapEnumerated(t *testing.T) {
	x := []float64{3.1, 4.7, 5.2, 6.0, 7.9, 12.4}
	logs := make([]float64, len(x))
	for i, v := range x {
		logs[i] = math.Log(v)
	}
	mean := meanOf(x)
	geometric := func(index []int) float64 { return math.Exp(meanOf(logs)(index)) }
	all := []int{0, 1, 2, 3, 4, 5}

	reps := ResampleAll(6, mean)
	if len(reps) != 46656 {
		t.Fatalf("got %d resamples, want 46656", len(reps))
	}
	a := Acceleration(Jackknife(6, mean))
	near(t, "s.e. of mean", StandardError(reps), 1.219005, sixDigits)
	nearInterval(t, "percentile of mean", Percentile(reps, 0.95), 4.466667, 9.166667, sixDigits)
	near(t, "a", a, 0.06502005, 6e-9)
	near(t, "z0", BiasCorrection(reps, mean(all)), 0.050255, sixDigits)
	nearInterval(t, "BCa of mean", BCa(reps, mean(all), a, 0.95), 4.683333, 9.7, sixDigits)

	reps = ResampleAll(6, geometric)
	near(t, "s.e. of geometric mean", StandardError(reps), 1.083088, sixDigits)
	nearInterval(t, "percentile of geometric mean", Percentile(reps, 0.95), 4.257408, 8.465752, sixDigits)
	nearInterval(t, "BCa of geometric mean", BCa(reps, geometric(all), Acceleration(Jackknife(6, geometric)), 0.95), 4.303336, 8.514817, sixDigits)
}

// Efron & Tibshirani 1993, An Introduction to the Bootstrap, spatial test data A: from memory, digits reproduced.
func TestSpatialTest(t *testing.T) {
	x := []float64{48, 36, 20, 29, 42, 42, 20, 42, 22, 41, 45, 14, 6, 0, 33, 28, 34, 4, 32, 24, 47, 41, 24, 26, 30, 41}
	mean, sd := MeanSD(x)
	n := float64(len(x))
	variance := sd * sd * (n - 1) / n
	near(t, "plug-in variance", variance, 171.534, 6e-4)
	influence := make([]float64, len(x))
	for i, v := range x {
		influence[i] = (v-mean)*(v-mean) - variance
	}
	near(t, "acceleration", Acceleration(influence), 0.061240, sixDigits)
}

// Derived: Hatch-Choate relations at GSD 1.6 and number median 5.
func TestLogNormal(t *testing.T) {
	l := LogNormal{NumberMedian: 5, GSD: 1.6}
	near(t, "mass median", l.MassMedian(), 9.7002, 6e-5)
	near(t, "D32", l.D32(), 8.6859, 6e-5)
	near(t, "D43", l.D43(), 10.8330, 6e-5)
}

// Derived by the delta method; ISO 13322-1:2004 asks more than 6 000 for a volume mean at GSD 1.6.
func TestMassMedianSampleSize(t *testing.T) {
	for gsd, want := range map[float64]int{1.6: 1689, 2.0: 7123, 2.5: 20787} {
		if got := MassMedianSampleSize(gsd, 0.05, 0.95); got != want {
			t.Errorf("GSD %g: got %d particles, want %d", gsd, got, want)
		}
	}
}

// Derived: frame 400 x 300 (Miles 1974; Lantuejoul 1980).
func TestFrameWeight(t *testing.T) {
	near(t, "10 x 8", FrameWeight(400, 300, 10, 8), 1.0537408, 6e-8)
	near(t, "60 x 5", FrameWeight(400, 300, 60, 5), 1.1964108, 6e-8)
	near(t, "200 x 150", FrameWeight(400, 300, 200, 150), 4, 1e-12)
	near(t, "as long as the frame", FrameWeight(400, 300, 400, 5), MaxFrameWeight, 0)
}
