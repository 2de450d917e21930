// Package ride says where the kernels ride: whole kernels and large pieces box by box, from photos of what lay in each
// box of a sieve box and its mass.
//
// A count in the mass that the photos show is scaled to the mass of the box; the sample's figure a kg is the mass-weighted sum. Intervals
// are of the counts alone: exact Poisson for a box, Fay & Feuer (1997, Stat. Med. 16:791) for the weighted sum. That a kernel may be
// taken for a piece of stalk, or hide under one, is not in them.
package ride

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"gristmark/internal/cup"
	"gristmark/internal/result"
	"gristmark/internal/sieve"
	"gristmark/internal/stats"
)

// Schema names the version of the boxes document.
const Schema = "gristmark.boxes/1"

const level = 0.95

// Basis says what the figures rest on.
const Basis = "kernels named in photos of each box, scaled by mass; intervals from the counts alone"

// Box is the content of one box as weighed and photographed.
type Box struct {
	Name      string         // as written
	OpeningMM float64        // of its sieve, mm; 0: the pan
	MassG     float64        // of its content, g, >= 0
	ShownG    float64        // of the content that the photos show, g; 0: all
	Photos    []result.Photo // nil: not looked at
}

// Document is the boxes document; docs/boxes.md describes its JSON form.
type Document struct {
	Schema     string           `json:"schema"`
	Version    string           `json:"version,omitempty"`
	State      string           `json:"state,omitempty"` // of the crop; empty: not told
	Conclusion string           `json:"conclusion"`
	TotalG     float64          `json:"total_g"`      // of all boxes given
	LookedAtG  float64          `json:"looked_at_g"`  // of the boxes whose photos were measured
	WholePerKg *result.Estimate `json:"whole_per_kg"` // whole kernels a kg of sample
	LargePerKg *result.Estimate `json:"large_per_kg"` // broken pieces of half a kernel and more, a kg of sample
	Boxes      []BoxReport      `json:"boxes"`        // coarse to fine
	Basis      string           `json:"basis"`
	Notes      []string         `json:"notes"`
}

// BoxReport is one box.
type BoxReport struct {
	Box           string           `json:"box"`
	OpeningMM     *float64         `json:"opening_mm"` // nil: the pan
	MassG         float64          `json:"mass_g"`
	SharePct      float64          `json:"share_pct"` // of the mass of all boxes given
	ShownG        float64          `json:"shown_g"`   // mass that the photos show
	Whole         *int             `json:"whole"`     // counted; nil: not looked at
	Large         *int             `json:"large"`
	WholePerKg    *result.Estimate `json:"whole_per_kg"` // a kg of this box
	LargePerKg    *result.Estimate `json:"large_per_kg"`
	WholeSharePct *float64         `json:"whole_share_pct"` // of the sample's whole kernels
	LargeSharePct *float64         `json:"large_share_pct"`
	AreaSharePct  *float64         `json:"kernel_area_share_pct"` // of the sample's kernel area, whole and broken, from outlines
	Photos        []result.Photo   `json:"photos"`

	counted tally
}

// tally is what the photos of a box show.
type tally struct {
	whole, large int
	areaMM2      float64 // of kernels and their pieces, by expected class
	cut          bool    // pieces lie across the edge of the field
	seen         bool
}

// Build makes the document. An error refuses the boxes and says why; a box without a measured photo is not counted and said.
func Build(boxes []Box, state string) (*Document, error) {
	if err := check(boxes); err != nil {
		return nil, err
	}
	boxes = slices.Clone(boxes)
	slices.SortStableFunc(boxes, func(a, b Box) int { return cmp.Compare(b.OpeningMM, a.OpeningMM) })
	d := &Document{Schema: Schema, State: state, Basis: Basis, Notes: []string{}}
	for _, b := range boxes {
		d.TotalG += b.MassG
	}
	for _, b := range boxes {
		d.add(b)
	}
	if err := d.sample(); err != nil {
		return nil, err
	}
	d.remarks()
	d.Conclusion = d.conclude(nil)
	return d, nil
}

func check(boxes []Box) error {
	var shake sieve.Shake
	hash := map[string]string{}
	for i, b := range boxes {
		switch {
		case b.MassG < 0:
			return fmt.Errorf("ride: the mass of %s is negative", b.Name)
		case len(b.Photos) > 0 && b.MassG == 0:
			return fmt.Errorf("ride: %s weighs nothing, but there are photos of its content", b.Name)
		case b.ShownG < 0 || b.ShownG > b.MassG*1.001:
			return fmt.Errorf("ride: the photos of %s show %g g of %g g; it cannot be more than there is", b.Name, b.ShownG, b.MassG)
		}
		for _, other := range boxes[:i] {
			if other.OpeningMM == b.OpeningMM {
				return fmt.Errorf("ride: %s and %s are the same box", other.Name, b.Name)
			}
		}
		for _, p := range b.Photos {
			if name, seen := hash[p.SHA256]; seen && name != b.Name && p.SHA256 != "" {
				return fmt.Errorf("ride: %s is a photo of %s and of %s; each box has photos of its own", p.File, name, b.Name)
			}
			hash[p.SHA256] = b.Name
		}
		shake.Fractions = append(shake.Fractions, sieve.Fraction{Label: b.Name, OpeningMM: b.OpeningMM, MassG: b.MassG})
	}
	if len(boxes) == 0 {
		return errors.New("ride: no box was given")
	}
	return sieve.Implausible(shake)
}

// add reports one box.
func (d *Document) add(b Box) {
	r := BoxReport{Box: b.Name, MassG: b.MassG, ShownG: b.ShownG, SharePct: 100 * b.MassG / d.TotalG, Photos: b.Photos}
	if r.ShownG == 0 {
		r.ShownG = b.MassG
	}
	if b.OpeningMM > 0 {
		r.OpeningMM = &b.OpeningMM
	}
	if r.Photos == nil {
		r.Photos = []result.Photo{}
	}
	if r.counted = count(b.Photos); r.counted.seen {
		kg := r.ShownG / 1000
		r.Whole, r.Large = &r.counted.whole, &r.counted.large
		r.WholePerKg, r.LargePerKg = rate(r.counted.whole, kg), rate(r.counted.large, kg)
		d.LookedAtG += b.MassG
	}
	d.Boxes = append(d.Boxes, r)
}

func rate(n int, kg float64) *result.Estimate {
	i := stats.PoissonExact(n, level).Scale(1 / kg)
	return &result.Estimate{Value: float64(n) / kg, Low: i.Low, High: i.High, Level: level}
}

// count adds up the photos of a box; copies and second shots of a spread are left out. A refused photo leaves the box uncounted, because what it
// shows is missing.
func count(photos []result.Photo) tally {
	t := tally{seen: len(photos) > 0}
	for _, p := range photos {
		if p.Status != result.Measured {
			return tally{}
		}
		if p.DuplicateOf != "" || p.SameSpreadAs != "" {
			continue
		}
		for _, q := range p.Particles {
			t.add(q)
		}
	}
	return t
}

func (t *tally) add(q result.Particle) {
	t.areaMM2 += q.PKernel() * q.AreaMM2
	t.cut = t.cut || q.CutByEdge
	switch {
	case q.Class == result.WholeKernel:
		t.whole++
	case q.Class == result.BrokenKernel && q.KernelShare != nil && *q.KernelShare >= cup.HalfShare:
		t.large++
	}
}

// sample fills in the figures of the whole sample and the boxes' shares of them.
func (d *Document) sample() error {
	var shake sieve.Shake
	area := 0.0
	for _, b := range d.Boxes {
		if !b.counted.seen {
			continue
		}
		whole, large := float64(*b.Whole), float64(*b.Large)
		shake.Fractions = append(shake.Fractions, sieve.Fraction{Label: b.Box, MassG: b.MassG, CountedG: b.ShownG, WholeKernels: &whole, LargePieces: &large})
		area += b.counted.areaMM2 * b.MassG / b.ShownG
	}
	if len(shake.Fractions) == 0 {
		return nil
	}
	k, err := sieve.CountKernels(shake)
	if err != nil {
		return err
	}
	f := d.LookedAtG / d.TotalG
	d.WholePerKg, d.LargePerKg = scaled(k.WholePerKg, f), scaled(k.LargePerKg, f)
	i := 0
	for j := range d.Boxes {
		b := &d.Boxes[j]
		if !b.counted.seen {
			continue
		}
		b.WholeSharePct, b.LargeSharePct = k.ByFraction[i].WholeSharePct, k.ByFraction[i].LargeSharePct
		if area > 0 {
			v := 100 * b.counted.areaMM2 * b.MassG / b.ShownG / area
			b.AreaSharePct = &v
		}
		i++
	}
	return nil
}

func scaled(e *result.Estimate, f float64) *result.Estimate {
	return &result.Estimate{Value: e.Value * f, Low: e.Low * f, High: e.High * f, Level: e.Level}
}
