package sieve

import (
	"math"
	"os"
	"testing"
)

func close(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tol {
		t.Errorf("%s: %.9g, want %.9g within %g", what, got, want, tol)
	}
}

func ptr[T any](v T) *T { return &v }

func sampleReport(t *testing.T) Weighing {
	t.Helper()
	data, err := os.ReadFile("../../testdata/published/s424-sample-report.csv")
	if err != nil {
		t.Fatal(err)
	}
	w, err := Parse(data, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// Shares and mean length as printed in a feed laboratory's sample report (published): the tolerance is
// half of its last digit; 0.29 in is 7.24 to 7.49 mm.
func TestSampleReportAsPrinted(t *testing.T) {
	w := sampleReport(t)
	r, err := Analyse(w, Terms{TopLengthMM: ptr(38.05)})
	if err != nil {
		t.Fatal(err)
	}
	if r.Stack != S424 {
		t.Fatalf("stack %q", r.Stack)
	}
	for i, want := range []float64{5.63, 5.83, 36.27, 26.17, 16.80, 9.30} {
		close(t, "share", r.Fractions[i].SharePct.Value, want, 0.00501)
	}
	close(t, "mean, in", r.Geometric.MeanMM/25.4, 0.29, 0.005)
}

// Geometric mean and s.d. of the same masses for three stated lengths on the top screen: derived from the
// formula of S424.1 (Lisowski et al. 2008, Annals of Warsaw University of Life Sciences, Agriculture
// 52:23-30) and its tabulated diagonals. Tolerance: half of the last digit.
func TestS424GeometricMean(t *testing.T) {
	for _, c := range []struct{ top, mean, sd float64 }{{38.05, 7.3086, 2.5920}, {48, 7.4048, 2.6545}, {26.9, 7.1675, 2.5130}} {
		r, err := Analyse(sampleReport(t), Terms{TopLengthMM: &c.top})
		if err != nil {
			t.Fatal(err)
		}
		close(t, "mean", r.Geometric.MeanMM, c.mean, 0.00006)
		close(t, "s.d.", r.Geometric.SD, c.sd, 0.00006)
		close(t, "pan length", r.Geometric.PanLengthMM, 0.825, 1e-12)
		if r.Geometric.TopAssumed {
			t.Error("a stated length is called assumed")
		}
	}
}

// 1.16 + 13.00 f with f = 0.4773: 7.364 mm. Armentano & Taysom 2005, J. Dairy Sci. 88:3982. The printed
// fraction is rounded, hence the tolerance.
func TestQuickMean(t *testing.T) {
	close(t, "mean", QuickMeanMM(0.4773), 7.364, 0.001)
	r, err := Analyse(sampleReport(t), Terms{})
	if err != nil {
		t.Fatal(err)
	}
	close(t, "from the sample report", *r.QuickMeanMM, 7.364, 0.001)
}

// Closed forms of the geometric mean (derived): all on screen 3, and equal masses at 10 and 40 mm.
func TestGeometricMeanClosedForms(t *testing.T) {
	x := S424Lengths([]float64{26.9, 18.0, 8.98, 5.61, 1.65}, 38.05)
	mean, sd, err := GeometricMean(x, []float64{0, 0, 7, 0, 0, 0})
	close(t, "screen 3", mean, 12.7138, 0.00006)
	close(t, "its s.d.", sd, 1, 1e-12)
	if err != nil {
		t.Fatal(err)
	}
	mean, sd, err = GeometricMean([]float64{10, 40}, []float64{3, 3})
	close(t, "10 and 40", mean, 20, 1e-9)
	close(t, "its s.d.", sd, 2, 1e-9)
	if err != nil {
		t.Fatal(err)
	}
}

// Cubes of 1.32 g/cm³ after ANSI/ASAE S319.4, formulas from memory; figures derived. Half of the last digit.
func TestGroundFeed(t *testing.T) {
	f := GroundFeed(1.0, 1)
	close(t, "surface", f.SurfaceCM2PerG, 45.4545, 0.00006)
	close(t, "number", f.ParticlesPerGram, 757.58, 0.006)
	f = GroundFeed(0.6, 2)
	close(t, "surface", f.SurfaceCM2PerG, 96.3286, 0.00006)
	close(t, "number", f.ParticlesPerGram, 30474.30, 0.006)
}

// Rows of J. Anim. Sci. 2023, 101:skac322, Table 3: NDF times the share on 19, 8 and 4 mm, as printed.
func TestPhysicallyEffectiveNDF(t *testing.T) {
	for _, c := range []struct{ ndf, share, want float64 }{
		{58.8, 41.1 + 9.33 + 21.4, 42.2}, {27.4, 56.46, 15.5}, {27.0, 58.9, 15.9}, {41.8, 57.1, 23.9}, {41.4, 61.82, 25.6},
	} {
		close(t, "peNDF", PeNDF(c.ndf, c.share), c.want, 0.05001)
	}
	w, err := Parse([]byte("sieve,share_pct\ntop,41.1\nmiddle,9.33\nlower,21.4\npan,28.17\n"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := Analyse(w, Terms{NDFPct: ptr(58.8)})
	if err != nil {
		t.Fatal(err)
	}
	if len(r.PeNDF) != 2 || r.PeNDF[1].Convention != "4 mm" {
		t.Fatalf("%+v", r.PeNDF)
	}
	close(t, "peNDF of the table", r.PeNDF[1].PeNDFPct, 42.2, 0.05001)
}

// Straight line of ln(-ln R) on ln x: an unsigned published worked regression (its source calls r² "R").
func TestRosinRammlerLine(t *testing.T) {
	x := []float64{600, 425, 300, 212, 150, 106, 75, 53, 45, 38}
	pct := []float64{0.1, 0.7, 3.0, 8.1, 12.3, 21.7, 30.5, 44.6, 50.5, 54.2}
	r, err := FitLine(x, fractions(pct))
	if err != nil {
		t.Fatal(err)
	}
	close(t, "n", r.N, 0.8645408, 5e-8)
	close(t, "intercept", r.intercept(), -3.632837, 5e-7)
	close(t, "scale", r.ScaleMM, 66.8227, 5e-5)
	close(t, "r²", *r.R2, 0.99714, 5e-6)
}

// Non-linear least squares: Brezani 2011, as printed; the straight line on the same data is derived.
func TestRosinRammlerLeastSquares(t *testing.T) {
	x := []float64{0.08, 0.5, 1.25, 2, 4, 6.3, 8, 12.5, 16, 40}
	pct := []float64{95.61, 87.71, 82.45, 79.78, 73.28, 66.98, 63.21, 55.4, 49.91, 23.95}
	r, err := FitLeastSquares(x, fractions(pct))
	if err != nil {
		t.Fatal(err)
	}
	close(t, "scale", r.ScaleMM, 27.0236, 5e-5)
	close(t, "n", r.N, 0.5946, 5e-5)
	l, err := FitLine(x, fractions(pct))
	if err != nil {
		t.Fatal(err)
	}
	close(t, "line n", l.N, 0.524043, 5e-7)
	close(t, "line scale", l.ScaleMM, 30.7144, 5e-5)
	if *r.RMSPct >= *l.RMSPct {
		t.Errorf("least squares misses by %g, the line by %g", *r.RMSPct, *l.RMSPct)
	}
}

// Mean, s.d. and median of x' 10, n 2: derived, exact to the digits given.
func TestRosinRammlerMoments(t *testing.T) {
	r := RosinRammler{ScaleMM: 10, N: 2}.moments()
	close(t, "mean", r.Mean, 8.862269, 5e-7)
	close(t, "s.d.", r.SD, 4.632513, 1e-6) // 4.6325138: the digits are cut, not rounded
	close(t, "median", r.Median, 8.325546, 5e-7)
}

func fractions(pct []float64) []float64 {
	out := make([]float64, len(pct))
	for i, p := range pct {
		out[i] = p / 100
	}
	return out
}
