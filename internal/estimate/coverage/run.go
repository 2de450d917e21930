package coverage

import (
	"fmt"
	"io"
	"math"
	"slices"

	"gristmark/internal/estimate"
	"gristmark/internal/result"
)

// The figures whose intervals are tried.
const (
	Whole = iota
	Passing
	Length
	Top
	Middle
	Lower
	Pan
	figures
)

var names = [figures]string{"whole_pct", "passing_4_75_pct", "geometric_mean_mm", "box top", "box middle", "box lower", "box pan"}

// Plan says what is drawn.
type Plan struct {
	Seed     uint64
	Lots     int     // lots, each with its own way to break
	Draws    int     // samples a lot
	Kernels  int     // kernels broken to make a lot
	Photos   int     // photos a sample
	Grains   int     // kernel pieces a photo
	Straws   int     // stover pieces a photo
	Spread   float64 // of the exponent by which a handful favours large pieces
	Resample int     // of the intervals; 0: the default
}

// Full is the plan of make accuracy: 500 samples of the given number of photos.
func Full(photos int) Plan {
	return Plan{Seed: 2000, Lots: 50, Draws: 10, Kernels: 100, Photos: photos, Grains: 90, Straws: 120, Spread: 0.15 * min(float64(photos-1), 1), Resample: 400}
}

// Row is what became of one figure.
type Row struct {
	Figure   string
	Photos   int
	Draws    int     // intervals given
	Missing  int     // samples without one
	Held     float64 // share of the intervals that hold the lot's number
	Width    float64 // median width, in the figure's unit
	Against  float64 // median width over that of intervals from the true outlines
	MedianAE float64 // median absolute error of the value against the lot
	Bias     float64 // mean error of the value against the lot
}

// Run draws the samples and returns a row a figure.
func Run(plan Plan) []Row {
	r := source(plan.Seed)
	var all [figures]try
	for range plan.Lots {
		l := drawLot(r, plan.Kernels)
		truth := l.truth()
		for range plan.Draws {
			var seen, exact []result.Photo
			var hands []handful
			for j := range plan.Photos {
				h := l.handful(r, plan.Grains, plan.Straws, plan.Spread)
				name := fmt.Sprint("photo ", j)
				seen, exact, hands = append(seen, h.measured(r, name, truth[Whole]/100)), append(exact, h.exact(name)), append(hands, h)
			}
			opt := estimate.Options{Seed: r.Uint64(), Resamples: plan.Resample}
			got, best := figuresOf(estimate.Sample(seen, opt)), bestOf(exact, hands, opt)
			for f := range all {
				all[f].add(got[f], best[f], truth[f])
			}
		}
	}
	var rows []Row
	for f := range all {
		rows = append(rows, all[f].row(names[f], plan.Photos))
	}
	return rows
}

func figuresOf(s *result.Sample) (out [figures]*result.Estimate) {
	out[Whole], out[Passing], out[Length] = s.Kernels.WholePct, s.Kernels.Passing475Pct, s.Pieces.GeometricMeanMM
	if b := s.Pieces.BoxPct; b != nil {
		out[Top], out[Middle], out[Lower], out[Pan] = &b.Top, &b.Middle, &b.Lower, &b.Pan
	}
	return out
}

// bestOf gives the intervals of one who knows every outline, mass and fate.
func bestOf(exact []result.Photo, hands []handful, opt estimate.Options) [figures]*result.Estimate {
	out := figuresOf(estimate.Sample(exact, opt))
	num, den := make([][]float64, len(hands)), make([][]float64, len(hands))
	for j, h := range hands {
		for _, g := range h.grains {
			n := 0.0
			if g.Passes475 {
				n = g.VolumeMM3
			}
			num[j], den[j] = append(num[j], n), append(den[j], g.VolumeMM3)
		}
	}
	out[Passing] = estimate.Share(num, den, opt)
	for box := range 4 {
		for j, h := range hands {
			num[j], den[j] = nil, nil
			for _, s := range h.straws {
				n := 0.0
				if s.box == box {
					n = s.mass
				}
				num[j], den[j] = append(num[j], n), append(den[j], s.mass)
			}
		}
		out[Top+box] = estimate.Share(num, den, opt)
	}
	return out
}

// try collects the intervals of one figure.
type try struct {
	held, missing         int
	widths, ratios, wrong []float64
	bias                  float64 // sum of errors
}

func (t *try) add(got, best *result.Estimate, truth float64) {
	if got == nil || best == nil {
		t.missing++
		return
	}
	if got.Low <= truth && truth <= got.High {
		t.held++
	}
	t.widths = append(t.widths, got.High-got.Low)
	t.ratios = append(t.ratios, best.High-best.Low)
	t.wrong = append(t.wrong, math.Abs(got.Value-truth))
	t.bias += got.Value - truth
}

func (t *try) row(name string, photos int) Row {
	n := len(t.widths)
	if n == 0 {
		return Row{Figure: name, Photos: photos, Missing: t.missing}
	}
	return Row{name, photos, n, t.missing, float64(t.held) / float64(n), median(t.widths), median(t.widths) / median(t.ratios), median(t.wrong), t.bias / float64(n)}
}

func median(x []float64) float64 {
	x = slices.Sorted(slices.Values(x))
	return (x[(len(x)-1)/2] + x[len(x)/2]) / 2
}

// Print writes the rows as a table.
func Print(w io.Writer, rows []Row) {
	fmt.Fprintln(w, "figure             photos draws  held_pct  median_width  of_true_outlines  median_error    bias")
	for _, r := range rows {
		fmt.Fprintf(w, "%-18s %6d %5d  %8.1f  %12.2f  %16.2f  %12.2f  %6.2f\n", r.Figure, r.Photos, r.Draws, 100*r.Held, r.Width, r.Against, r.MedianAE, r.Bias)
	}
}
