package coverage

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gristmark/internal/compare"
	"gristmark/internal/estimate"
	"gristmark/internal/result"
	"gristmark/internal/stats"
)

// lot is a lot of chop as its photos show it: log-normal widths of kernel pieces and lengths of stover.
type lot struct {
	widthMM, lengthMM float64 // medians by number
	handfuls          float64 // standard deviation of the logarithm by which a handful's median differs
}

const (
	kernelsAPhoto = 40
	strawsAPhoto  = 30
	pieceGSD      = 1.45
)

// photo draws one handful of the lot, measured without error.
func (l lot) photo(r *rand.Rand, name string) result.Photo {
	p := result.Photo{File: name, SHA256: name, Status: result.Measured, Scale: &result.Scale{MMPerPx: 0.06, RelativeSD: 0.004}}
	k, s := math.Exp(l.handfuls*r.NormFloat64()), math.Exp(l.handfuls*r.NormFloat64())
	size := func(median float64) float64 { return median * math.Exp(math.Log(pieceGSD)*r.NormFloat64()) }
	for i := range kernelsAPhoto + strawsAPhoto {
		q := result.Particle{ID: i + 1, Weight: 1}
		if i < kernelsAPhoto {
			q.Class, q.PBroken = result.BrokenKernel, 1
			q.WidthMM = min(9, max(1, size(l.widthMM*k)))
			q.LengthMM = q.WidthMM * (1 + 0.5*r.Float64())
			q.AreaMM2 = 0.78 * q.LengthMM * q.WidthMM
		} else {
			q.Class, q.PStover = result.Stover, 1
			q.LengthMM = max(1.5, size(l.lengthMM*s))
			q.WidthMM = min(q.LengthMM, 1.5+2*r.Float64())
			q.AreaMM2 = q.LengthMM * q.WidthMM
		}
		q.MinFeretMM, q.MaxFeretMM, q.CentreLineMM = q.WidthMM, q.LengthMM, q.LengthMM
		p.Particles = append(p.Particles, q)
	}
	return p
}

func (l lot) side(r *rand.Rand, label string, photos int) (compare.Side, error) {
	d := result.Document{Schema: result.Schema}
	for i := range photos {
		d.Photos = append(d.Photos, l.photo(r, fmt.Sprint(label, i)))
	}
	d.Sample = estimate.Sample(d.Photos, estimate.Options{Resamples: 100})
	return compare.FromDocument(&d, label)
}

// The two lots that photos are drawn of, and the figures whose difference is followed.
var (
	wide    = lot{widthMM: 4.2, lengthMM: 10, handfuls: 0.08}
	tight   = lot{widthMM: 3.6, lengthMM: 9, handfuls: 0.08}
	follow  = []string{"passing_4_75_pct", "geometric_mean_mm", "top_pct"}
	manyOne = 600 // photos that stand for the whole lot
)

// photographed draws k photos of each lot, all their pieces, and follows the differences. The truth is that of very many photos
// by the same models: a comparison speaks of the difference, not of what the models leave in doubt on both sides.
func photographed(k, draws int) ([]Row, error) {
	r := stats.Rand(uint64(5000 + k))
	truth, err := trueDifferences(r)
	if err != nil {
		return nil, err
	}
	held := map[string]int{}
	for range draws {
		a, err := wide.side(r, "a", k)
		if err != nil {
			return nil, err
		}
		b, err := tight.side(r, "b", k)
		if err != nil {
			return nil, err
		}
		d, err := compare.Compare(a, b, compare.Options{Seed: r.Uint64()})
		if err != nil {
			return nil, err
		}
		for _, f := range d.Differences {
			if v := truth[f.Measure]; f.Difference.Low != nil && *f.Difference.Low <= v && v <= *f.Difference.High {
				held[f.Measure]++
			}
		}
	}
	var rows []Row
	for _, name := range follow {
		row := overUnits("difference of "+name, k, 100*float64(held[name])/float64(draws))
		row.Over = fmt.Sprintf("%d photos a sample, pieces", k)
		if name == "top_pct" {
			row.High = 100 // few long pieces: the particles' own interval errs on the wide side
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// Photographed simulates comparisons of photos down to their pieces, draws for each number of photos a sample.
func Photographed(draws int, photos ...int) ([]Row, error) {
	var rows []Row
	for _, k := range photos {
		r, err := photographed(k, draws)
		if err != nil {
			return nil, err
		}
		rows = append(rows, r...)
	}
	return rows, nil
}

func trueDifferences(r *rand.Rand) (map[string]float64, error) {
	var values [2]map[string]float64
	for i, l := range []lot{wide, tight} {
		var photos []result.Photo
		for j := range manyOne {
			photos = append(photos, l.photo(r, fmt.Sprint(j)))
		}
		s := estimate.Sample(photos, estimate.Options{Resamples: 2})
		if s == nil || s.Kernels == nil || s.Pieces == nil || s.Pieces.BoxPct == nil {
			return nil, fmt.Errorf("coverage: the lot shows no figure")
		}
		values[i] = map[string]float64{"passing_4_75_pct": s.Kernels.Passing475Pct.Value, "geometric_mean_mm": s.Pieces.GeometricMeanMM.Value, "top_pct": s.Pieces.BoxPct.Top.Value}
	}
	out := map[string]float64{}
	for _, name := range follow {
		out[name] = values[1][name] - values[0][name]
	}
	return out, nil
}
