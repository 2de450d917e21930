// Package coverage simulates how often the intervals of counts, shakes, comparisons and corrections hold the truth, with
// fixed seeds, and tabulates it.
package coverage

import (
	"fmt"
	"io"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"gristmark/internal/compare"
	"gristmark/internal/lab"
	"gristmark/internal/result"
	"gristmark/internal/sieve"
	"gristmark/internal/stats"
)

const level = 0.95

// Row is the coverage of one interval over a grid or at one setting, percent.
type Row struct {
	Name    string
	Over    string  // what the grid runs over
	Average float64 // over the grid
	Least   float64 // at its worst point
	Low     float64 // what the average must reach
	High    float64 // what the average must not pass
	ByLeast bool    // the worst point, not the average, must reach Low
}

// OK reports whether the row keeps what is asked of it.
func (r Row) OK() bool {
	if r.ByLeast {
		return r.Least >= r.Low
	}
	return r.Average >= r.Low && r.Average <= r.High
}

// Table simulates all rows, draws for each point of a grid. The exact intervals are summed over all outcomes.
func Table(draws int) []Row {
	rows := []Row{clopperPearson(), poisson(), wilson(), newcombe()}
	for _, k := range []int{2, 3, 5, 8} {
		rows = append(rows, shakes(k, draws), unpaired(k, draws), paired(k, draws))
	}
	rows = append(rows, uneven(2, 5, 6, 3, draws), uneven(5, 2, 6, 3, draws), uneven(3, 2, 6, 3, draws), uneven(8, 3, 6, 3, draws), uneven(2, 5, 5, 5, draws), uneven(3, 8, 5, 5, draws))
	for _, n := range []int{5, 8, 12} {
		rows = append(rows, correction(n, draws))
	}
	return rows
}

// Print writes the table.
func Print(w io.Writer, rows []Row) error {
	if _, err := fmt.Fprintf(w, "%-34s %-30s %8s %8s  %s\n", "interval, 95 %", "over", "average", "least", "asked"); err != nil {
		return err
	}
	for _, r := range rows {
		asked := fmt.Sprintf("%g to %g", r.Low, r.High)
		if r.ByLeast {
			asked = fmt.Sprintf("least %g", r.Low)
		}
		if !r.OK() {
			asked += "  MISSED"
		}
		if _, err := fmt.Fprintf(w, "%-34s %-30s %8.1f %8.1f  %s\n", r.Name, r.Over, r.Average, r.Least, asked); err != nil {
			return err
		}
	}
	return nil
}

var sizes = []int{5, 10, 20, 50, 100}

func binomial(hold func(x, n int, p float64) bool) (average, least float64) {
	sum, points := 0.0, 0
	least = 100
	for _, n := range sizes {
		for p := 0.05; p < 0.96; p += 0.05 {
			c, d := 0.0, distuv.Binomial{N: float64(n), P: p}
			for x := 0; x <= n; x++ {
				if hold(x, n, p) {
					c += 100 * d.Prob(float64(x))
				}
			}
			sum, points, least = sum+c, points+1, min(least, c)
		}
	}
	return sum / float64(points), least
}

func clopperPearson() Row {
	a, l := binomial(func(x, n int, p float64) bool { return stats.ClopperPearson(x, n, level).Holds(p) })
	return Row{Name: "share, Clopper-Pearson", Over: "n 5-100, p 0.05-0.95, exact", Average: a, Least: l, Low: 95, High: 100, ByLeast: true}
}

func wilson() Row {
	a, l := binomial(func(x, n int, p float64) bool { return stats.Wilson(float64(x), float64(n), level).Holds(p) })
	return Row{Name: "share, Wilson", Over: "n 5-100, p 0.05-0.95, exact", Average: a, Least: l, Low: 93, High: 97}
}

func poisson() Row {
	sum, points, least := 0.0, 0, 100.0
	for lambda := 0.5; lambda <= 30; lambda += 0.5 {
		c, d := 0.0, distuv.Poisson{Lambda: lambda}
		for x := 0; x <= 120; x++ {
			if stats.PoissonExact(x, level).Holds(lambda) {
				c += 100 * d.Prob(float64(x))
			}
		}
		sum, points, least = sum+c, points+1, min(least, c)
	}
	return Row{Name: "count a cup, Poisson", Over: "mean 0.5-30, exact", Average: sum / float64(points), Least: least, Low: 95, High: 100, ByLeast: true}
}

func newcombe() Row {
	sum, points, least := 0.0, 0, 100.0
	const n1, n2 = 20, 30
	for p1 := 0.1; p1 < 0.95; p1 += 0.2 {
		for p2 := 0.1; p2 < 0.95; p2 += 0.2 {
			c, d1, d2 := 0.0, distuv.Binomial{N: n1, P: p1}, distuv.Binomial{N: n2, P: p2}
			for x := 0; x <= n1; x++ {
				for y := 0; y <= n2; y++ {
					if stats.NewcombeDifference(float64(x), n1, float64(y), n2, level).Holds(p1 - p2) {
						c += 100 * d1.Prob(float64(x)) * d2.Prob(float64(y))
					}
				}
			}
			sum, points, least = sum+c, points+1, min(least, c)
		}
	}
	return Row{Name: "difference of shares, Newcombe", Over: "20 and 30, p 0.1-0.9, exact", Average: sum / float64(points), Least: least, Low: 93, High: 97}
}

// simulated is the percentage of draws that hold.
func simulated(draws int, seed uint64, hold func(r *rand.Rand) bool) float64 {
	r, n := stats.Rand(seed), 0
	for range draws {
		if hold(r) {
			n++
		}
	}
	return 100 * float64(n) / float64(draws)
}

func overUnits(name string, k int, c float64) Row {
	return Row{Name: name, Over: fmt.Sprintf("%d a sample", k), Average: c, Least: c, Low: 90, High: 98}
}

// shakes draws shakes of 500 g whose top share varies about 6 % with a standard deviation of 1.5 points.
func shakes(k, draws int) Row {
	return overUnits("top box over shakes", k, simulated(draws, uint64(1000+k), func(r *rand.Rand) bool {
		w := sieve.Weighing{Given: "mass"}
		for range k {
			top := 500 * max(0.001, 0.06+0.015*r.NormFloat64())
			w.Shakes = append(w.Shakes, sieve.Shake{Fractions: []sieve.Fraction{{Label: "top", OpeningMM: 19, MassG: top}, {Label: "pan", MassG: 500 - top}}})
		}
		rep, err := sieve.Analyse(w, sieve.Terms{})
		if err != nil {
			return false
		}
		s := rep.Fractions[0].SharePct
		return *s.Low <= 6 && 6 <= *s.High
	}))
}

// side is a sample whose units read values.
func side(label string, values []float64) compare.Side {
	m, _ := stats.MeanSD(values)
	s := compare.Side{Label: label, Kind: compare.Photos, Sample: map[string]result.Estimate{"passing_4_75_pct": {Value: m, Low: m, High: m}}}
	for _, v := range values {
		s.Units = append(s.Units, compare.Unit{Readings: map[string]compare.Reading{"passing_4_75_pct": {Value: v, Weight: 1}}})
	}
	return s
}

func holds(a, b []float64, opt compare.Options, truth float64) bool {
	d, err := compare.Compare(side("a", a), side("b", b), opt)
	if err != nil {
		return false
	}
	f := d.Differences[0].Difference
	return *f.Low <= truth && truth <= *f.High
}

// unpaired draws photos that vary with standard deviations of 6 and 3 points about lots 5 points apart.
func unpaired(k, draws int) Row {
	return overUnits("difference, unpaired photos", k, simulated(draws, uint64(2000+k), func(r *rand.Rand) bool {
		a, b := make([]float64, k), make([]float64, k)
		for i := range a {
			a[i], b[i] = 60+6*r.NormFloat64(), 65+3*r.NormFloat64()
		}
		return holds(a, b, compare.Options{Seed: r.Uint64()}, 5)
	}))
}

// uneven draws unlike numbers of photos, from lots whose handfuls spread by sa and sb points.
func uneven(na, nb int, sa, sb float64, draws int) Row {
	row := overUnits("difference, unpaired photos", na, simulated(draws, uint64(2100+10*na+nb), func(r *rand.Rand) bool {
		a, b := make([]float64, na), make([]float64, nb)
		for i := range a {
			a[i] = 60 + sa*r.NormFloat64()
		}
		for i := range b {
			b[i] = 65 + sb*r.NormFloat64()
		}
		return holds(a, b, compare.Options{Seed: r.Uint64()}, 5)
	}))
	row.Over = fmt.Sprintf("%d and %d a sample, s.d. %g and %g", na, nb, sa, sb)
	return row
}

// paired draws loads that vary with 8 points, and each photo of them with 2.
func paired(k, draws int) Row {
	return overUnits("difference, paired photos", k, simulated(draws, uint64(3000+k), func(r *rand.Rand) bool {
		a, b := make([]float64, k), make([]float64, k)
		for i := range a {
			load := 60 + 8*r.NormFloat64()
			a[i], b[i] = load+2*r.NormFloat64(), load+5+2*r.NormFloat64()
		}
		return holds(a, b, compare.Options{Paired: true}, 5)
	}))
}

// correction draws pairs over 45 to 85 % with errors of 3 and 2 points, and predicts a new laboratory score.
func correction(n, draws int) Row {
	c := simulated(draws, uint64(4000+n), func(r *rand.Rand) bool {
		var pairs []lab.Pair
		for i := range n {
			truth := 45 + 40*float64(i)/float64(n-1)
			pairs = append(pairs, lab.Pair{Photo: truth + 3*r.NormFloat64(), PhotoSD: 3, Lab: 8 + 0.85*truth + 2*r.NormFloat64(), LabSD: 2, State: "fresh"})
		}
		fit, err := lab.Fit("farm", pairs)
		if err != nil {
			return true // a refusal misleads nobody
		}
		truth := 50 + 30*r.Float64()
		e := fit.Predict(truth+3*r.NormFloat64(), 3)
		y := 8 + 0.85*truth + 2*r.NormFloat64()
		return e.Low <= y && y <= e.High
	})
	row := overUnits("laboratory score, corrected", n, c)
	row.Over = fmt.Sprintf("%d pairs", n)
	row.High = 99
	return row
}
