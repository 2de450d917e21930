package sieve

import (
	"fmt"
	"math"
)

// Schema names the version of the sieve document.
const Schema = "gristmark.sieve/1"

// DefaultLossLimitPct is how much of the mass put in may be missing, %, or too much: common practice, from memory.
const DefaultLossLimitPct = 2.0

// Terms are what the computation takes besides the weighing.
type Terms struct {
	TopLengthMM  *float64 // mean length on the top sieve, mm; nil: assumed, and said
	LossLimitPct float64  // of the mass put in, %; 0: [DefaultLossLimitPct]
	PutInDMPct   *float64 // dry matter of what was put in, %; nil: no dry recovery
	NDFPct       *float64 // of dry matter, %; nil: no physically effective NDF
}

// FractionReport is one fraction of the sample.
type FractionReport struct {
	Sieve        string   `json:"sieve"`
	OpeningMM    *float64 `json:"opening_mm"` // nil: the pan
	MassG        float64  `json:"mass_g"`     // over all shakes; share of 100 where only shares were given
	SharePct     Share    `json:"share_pct"`
	UndersizePct *float64 `json:"undersize_pct"` // share of mass through this sieve; nil: the pan
	DrySharePct  *float64 `json:"dry_share_pct"` // nil: dry masses not known
}

// Recovery is the mass found again against the mass put in.
type Recovery struct {
	PutInG       float64  `json:"put_in_g"`
	RecoveredG   float64  `json:"recovered_g"`
	LossPct      float64  `json:"loss_pct"` // of the mass put in; negative: more came out than went in
	LimitPct     float64  `json:"limit_pct"`
	OK           bool     `json:"ok"`
	DryPutInG    *float64 `json:"dry_put_in_g"`
	DryRecovered *float64 `json:"dry_recovered_g"`
	DryLossPct   *float64 `json:"dry_loss_pct"`
}

// Report is what the weighed fractions of one sample say.
type Report struct {
	Stack        Kind             `json:"stack"`
	Given        string           `json:"given"` // mass or share
	Shakes       int              `json:"shakes"`
	TotalG       *float64         `json:"total_g"` // recovered, all shakes; nil where only shares were given
	Fractions    []FractionReport `json:"fractions"`
	Recovery     *Recovery        `json:"recovery"` // nil: the mass put in is not known
	Geometric    *Geometric       `json:"geometric"`
	QuickMeanMM  *float64         `json:"quick_mean_mm"`  // 1.16 + 13.00 f, S424.1 stacks only
	RosinRammler []RosinRammler   `json:"rosin_rammler"`  // straight line, then least squares; empty where neither fits
	TopTwoPct    *Share           `json:"top_two_pct"`    // index of effective fibre
	PeNDF        []Effective      `json:"effective_ndf"`  // empty where NDF was not given
	Fineness     *Fineness        `json:"ground_feed"`    // fine laboratory stacks only
	Kernels      *BoxKernels      `json:"kernels_by_box"` // nil: none counted
	Notes        []string         `json:"notes"`
}

// Analyse computes everything that the stack allows. An error refuses the sample and says why.
func Analyse(w Weighing, terms Terms) (*Report, error) {
	sum := pooled(w.Shakes)
	openings := sum.Openings()
	r := &Report{Stack: KindOf(openings), Given: w.Given, Shakes: len(w.Shakes), RosinRammler: []RosinRammler{}, PeNDF: []Effective{}, Notes: append([]string{}, w.Notes...)}
	if w.Given == "mass" {
		total := sum.TotalG()
		r.TotalG = &total
	}
	r.Fractions = fractionReports(w.Shakes, sum)
	r.TopTwoPct = topTwo(w.Shakes)
	var err error
	if r.Recovery, err = recovery(w, terms); err != nil {
		return nil, err
	}
	if r.Geometric, err = geometric(sum, terms.TopLengthMM); err != nil {
		return nil, err
	}
	if terms.NDFPct != nil {
		if r.PeNDF, err = effective(w.Shakes, *terms.NDFPct); err != nil {
			return nil, err
		}
	}
	if r.Kernels, err = kernelsOf(sum); err != nil {
		return nil, err
	}
	r.fits(w.Shakes, openings)
	r.special(w.Shakes)
	r.remarks(w)
	return r, nil
}

func fractionReports(shakes []Shake, sum Shake) []FractionReport {
	all := totals(shakes)
	dry := dryShares(shakes)
	var out []FractionReport
	for i, f := range sum.Fractions {
		part := make([]float64, len(shakes))
		for k, s := range shakes {
			part[k] = s.Fractions[i].MassG
		}
		fr := FractionReport{Sieve: f.Label, MassG: f.MassG, SharePct: share(part, all)}
		if !f.IsPan() {
			mm := f.OpeningMM
			under := 100 * undersize(shakes, mm)
			fr.OpeningMM, fr.UndersizePct = &mm, &under
		}
		if dry != nil {
			fr.DrySharePct = &dry[i]
		}
		out = append(out, fr)
	}
	return out
}

// undersize is the fraction of mass, 0..1, that passed the sieve of this opening, mm.
func undersize(shakes []Shake, opening float64) float64 {
	on, all := 0.0, 0.0
	for _, s := range shakes {
		for _, f := range s.Fractions {
			all += f.MassG
			if f.OpeningMM >= opening {
				on += f.MassG
			}
		}
	}
	return min(1, max(0, 1-on/all))
}

// dryShares are the shares of dry mass, %; nil unless every fraction's dry mass is known.
func dryShares(shakes []Shake) []float64 {
	out := make([]float64, len(shakes[0].Fractions))
	total := 0.0
	for _, s := range shakes {
		d, ok := s.dryG()
		if !ok {
			return nil
		}
		total += d
		for i, f := range s.Fractions {
			out[i] += *f.DryG
		}
	}
	if total <= 0 {
		return nil
	}
	for i := range out {
		out[i] *= 100 / total
	}
	return out
}

func recovery(w Weighing, terms Terms) (*Recovery, error) {
	limit := terms.LossLimitPct
	if limit == 0 {
		limit = DefaultLossLimitPct
	}
	rec := Recovery{LimitPct: limit}
	dry, dryKnown := 0.0, terms.PutInDMPct != nil
	for _, s := range w.Shakes {
		if s.PutInG == nil {
			return nil, nil
		}
		if *s.PutInG <= 0 {
			return nil, fmt.Errorf("sieve: the mass put in is %g g; it must be more than 0", *s.PutInG)
		}
		rec.PutInG += *s.PutInG
		rec.RecoveredG += s.TotalG()
		d, ok := s.dryG()
		dry, dryKnown = dry+d, dryKnown && ok
	}
	rec.LossPct = 100 * (rec.PutInG - rec.RecoveredG) / rec.PutInG
	rec.OK = math.Abs(rec.LossPct) <= limit
	if dryKnown {
		in := rec.PutInG * *terms.PutInDMPct / 100
		loss := 100 * (in - dry) / in
		rec.DryPutInG, rec.DryRecovered, rec.DryLossPct = &in, &dry, &loss
	}
	return &rec, nil
}

// Refusal says why the sample cannot be trusted, or nil.
func (r *Report) Refusal() error {
	rec := r.Recovery
	switch {
	case rec == nil || rec.OK:
		return nil
	case rec.LossPct > 0:
		return fmt.Errorf("sieve: %.1f %% of the %.6g g put in is missing (limit %g %%); weigh again, look for chop left in the boxes, or give the limit", rec.LossPct, rec.PutInG, rec.LimitPct)
	}
	return fmt.Errorf("sieve: %.1f %% more came out than the %.6g g put in (limit %g %%); check the tare and the scale, or give the limit", -rec.LossPct, rec.PutInG, rec.LimitPct)
}

// fits adds both Rosin-Rammler fits where the fractions carry them.
func (r *Report) fits(shakes []Shake, openings []float64) {
	coarser := make([]float64, len(openings))
	for i, o := range openings {
		coarser[i] = 1 - undersize(shakes, o)
	}
	for _, fit := range []func(x, r []float64) (RosinRammler, error){FitLine, FitLeastSquares} {
		f, err := fit(openings, coarser)
		if err != nil {
			r.Notes = append(r.Notes, trimPrefix(err))
			return
		}
		r.RosinRammler = append(r.RosinRammler, f)
	}
}

// groundOpeningMM: where the coarsest sieve is no wider, the stack is one for ground feed.
const groundOpeningMM = 4.8

func (r *Report) special(shakes []Shake) {
	if r.Stack == S424 {
		if hasSieve(shakes[0].Openings(), 6.3) {
			q := QuickMeanMM(1 - undersize(shakes, 6.3*0.988))
			r.QuickMeanMM = &q
		}
	}
	if r.Stack == Laboratory && shakes[0].Openings()[0] <= groundOpeningMM {
		f := GroundFeed(r.Geometric.MeanMM, r.Geometric.SD)
		r.Fineness = &f
	}
}

// Usual mass of one shake of maize silage, g (common practice: about 500); outside of these it is said.
const (
	littleShakeG = 200.0
	muchShakeG   = 1500.0
)

func (r *Report) remarks(w Weighing) {
	if len(w.Shakes) == 1 {
		r.Notes = append(r.Notes, "one shake: it cannot show its own spread, so the shares have no interval")
	}
	if w.Given != "mass" {
		return
	}
	for _, s := range w.Shakes {
		if t := s.TotalG(); t < littleShakeG || t > muchShakeG {
			r.Notes = append(r.Notes, fmt.Sprintf("a shake of %.4g g: about 500 g of maize silage, less of haylage, is usual (common practice)", t))
		}
	}
}
