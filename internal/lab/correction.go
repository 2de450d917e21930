package lab

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"gristmark/internal/result"
	"gristmark/internal/stats"
)

// Schema names the version of a stored correction.
const Schema = "gristmark.correction/1"

// What a fit asks of its pairs and takes where they do not say.
const (
	LeastPairs     = 5
	LeastRange     = 10.0 // points between the lowest and the highest photo estimate
	leastSignal    = 2.0  // spread of the photo estimates over their own error, as variances
	DefaultPhotoSD = 4.0  // points, assumed
	DefaultLabSD   = 3.0  // points, common practice, from memory
	beyond         = 5.0  // points outside the range of the pairs to which the line still speaks
	level          = 0.95
)

// Correction turns a photo estimate into what the laboratory would say.
type Correction struct {
	Schema string  `json:"schema"`
	Name   string  `json:"name"`
	State  string  `json:"state"` // fresh, fermented or empty: not told
	Line   Line    `json:"line"`
	LowPct float64 `json:"low_pct"`  // lowest photo estimate of the pairs
	HiPct  float64 `json:"high_pct"` // highest

	PhotoSD  float64 `json:"photo_sd"` // root mean square of the pairs' photo errors, points
	LabSD    float64 `json:"lab_sd"`   // of the laboratory's, points
	ExtraSD  float64 `json:"extra_sd"` // scatter that neither error explains, points
	LackOfP  float64 `json:"lack_of_fit_p"`
	Leverage []Point `json:"leverage"` // each pair's pull on the line
	Assumed  string  `json:"assumed,omitempty"`
}

// Point is a pair's leverage, 0..1, and residual, points.
type Point struct {
	Name     string  `json:"name"`
	Row      int     `json:"row"`
	Leverage float64 `json:"leverage"`
	Residual float64 `json:"residual"`
	High     bool    `json:"high"` // over twice the mean leverage: the line hangs on this pair
}

// Fit makes a correction of pairs. It refuses fewer than 5, a range under 10 points, photo estimates that differ no more
// than their own errors, and fresh and fermented lots in one table.
func Fit(name string, pairs []Pair) (*Correction, error) {
	c := &Correction{Schema: Schema, Name: name}
	if len(pairs) < LeastPairs {
		return nil, fmt.Errorf("lab: %d pairs; a correction needs at least %d", len(pairs), LeastPairs)
	}
	if err := c.oneState(pairs); err != nil {
		return nil, err
	}
	x, y, sx, sy := c.spread(pairs)
	if err := c.wideEnough(x); err != nil {
		return nil, err
	}
	line, err := FitLine(x, y, sx, sy)
	if err != nil {
		return nil, err
	}
	if line.Slope <= 0 || line.Slope/line.SlopeSE < 2 {
		return nil, errors.New("lab: the laboratory's scores do not rise with the photo estimates; check that the pairs belong together")
	}
	c.Line = line
	c.judgeFit(x, y, sx, sy, pairs)
	return c, nil
}

func (c *Correction) oneState(pairs []Pair) error {
	c.State = pairs[0].State
	for _, p := range pairs[1:] {
		if p.State != c.State {
			return fmt.Errorf("lab: row %d is %s, the rows above are %s; fresh chop and fermented silage are not mixed, fit each by itself",
				p.Row, cmp.Or(p.State, "of no stated state"), cmp.Or(c.State, "of no stated state"))
		}
	}
	return nil
}

func (c *Correction) spread(pairs []Pair) (x, y, sx, sy []float64) {
	var px, ly float64
	for _, p := range pairs {
		if p.PhotoSD == 0 || p.LabSD == 0 {
			c.Assumed = fmt.Sprintf("standard deviations of %g points for photos and %g for the laboratory where the table gives none", DefaultPhotoSD, DefaultLabSD)
		}
		x, y = append(x, p.Photo), append(y, p.Lab)
		sx, sy = append(sx, cmp.Or(p.PhotoSD, DefaultPhotoSD)), append(sy, cmp.Or(p.LabSD, DefaultLabSD))
		px += sx[len(sx)-1] * sx[len(sx)-1]
		ly += sy[len(sy)-1] * sy[len(sy)-1]
	}
	n := float64(len(pairs))
	c.PhotoSD, c.LabSD = math.Sqrt(px/n), math.Sqrt(ly/n)
	return x, y, sx, sy
}

func (c *Correction) wideEnough(x []float64) error {
	c.LowPct, c.HiPct = x[0], x[0]
	for _, v := range x {
		c.LowPct, c.HiPct = min(c.LowPct, v), max(c.HiPct, v)
	}
	_, sd := stats.MeanSD(x)
	if c.HiPct-c.LowPct < LeastRange {
		return fmt.Errorf("lab: the photo estimates run only from %.0f to %.0f %%; a correction needs a range of %g points or more", c.LowPct, c.HiPct, LeastRange)
	}
	if sd*sd < leastSignal*c.PhotoSD*c.PhotoSD {
		return fmt.Errorf("lab: the photo estimates differ hardly more (s.d. %.1f points) than their own errors (%.1f); take pairs from more unlike lots or more photos of each", sd, c.PhotoSD)
	}
	return nil
}

// judgeFit fills in leverage, lack of fit and the scatter that the errors leave unexplained.
func (c *Correction) judgeFit(x, y, sx, sy []float64, pairs []Pair) {
	n, mx := float64(len(x)), mean(x)
	var xx, weight float64
	for i := range x {
		xx += (x[i] - mx) * (x[i] - mx)
		weight += 1 / (sy[i]*sy[i] + c.Line.Slope*c.Line.Slope*sx[i]*sx[i])
	}
	for i, p := range pairs {
		h := 1/n + (x[i]-mx)*(x[i]-mx)/xx
		c.Leverage = append(c.Leverage, Point{Name: p.Name, Row: p.Row, Leverage: h, Residual: y[i] - c.Line.Intercept - c.Line.Slope*x[i], High: h > 4/n})
	}
	df := n - 2
	c.LackOfP = distuv.ChiSquared{K: df}.Survival(c.Line.Chi2)
	if over := c.Line.Chi2/df - 1; over > 0 {
		c.ExtraSD = math.Sqrt(over * n / weight)
	}
}

// Predict is what the laboratory would score where the photos estimate x with a standard deviation sd, with the
// prediction interval of one laboratory score; percent.
func (c *Correction) Predict(x, sd float64) result.Estimate {
	l := c.Line
	widen := max(1, l.Chi2/float64(l.N-2)) // scatter beyond the errors makes the line itself less sure
	line := widen * (l.InterceptSE*l.InterceptSE + 2*x*l.Covariance + x*x*l.SlopeSE*l.SlopeSE)
	known := c.LabSD*c.LabSD + l.Slope*l.Slope*sd*sd // stated errors; what follows is estimated from N - 2 residuals
	half := math.Hypot(stats.NormalQuantile(level)*math.Sqrt(known),
		stats.StudentQuantile(level, float64(l.N-2))*math.Sqrt(c.ExtraSD*c.ExtraSD+max(0, line)))
	y := l.Intercept + l.Slope*x
	return result.Estimate{Value: clip(y), Low: clip(y - half), High: clip(y + half), Level: level}
}

func clip(v float64) float64 { return min(100, max(0, v)) }

// Apply replaces the passing share of a sample by the corrected one and names the correction as its basis. State is that of
// the crop, that of the sample where empty, fresh where neither tells. A correction of another state, an estimate outside its
// range or one that is corrected already is refused and the sample is left as it was.
func (c *Correction) Apply(s *result.Sample, state string) error {
	if s == nil || s.Kernels == nil || s.Kernels.Passing475Pct == nil {
		return errors.New("lab: the sample has no estimate of the passing share to correct")
	}
	if s.Kernels.Outlines475Pct != nil {
		return fmt.Errorf("lab: the sample is %s; it is not corrected twice", s.Kernels.Basis)
	}
	if have := cmp.Or(state, s.State, "fresh"); s.State != "" && s.State != have {
		return fmt.Errorf("lab: the sample was measured as %s, not %s", s.State, have)
	}
	if err := c.Fits(cmp.Or(state, s.State)); err != nil {
		return err
	}
	e := s.Kernels.Passing475Pct
	if e.Value < c.LowPct-beyond || e.Value > c.HiPct+beyond {
		return fmt.Errorf("lab: the estimate of %.0f %% lies outside the pairs of the correction %q (%.0f to %.0f %%); it says nothing there", e.Value, c.Name, c.LowPct, c.HiPct)
	}
	p := c.Predict(e.Value, (e.High-e.Low)/2/stats.NormalQuantile(cmp.Or(e.Level, level)))
	s.Kernels.Outlines475Pct, s.Kernels.Passing475Pct, s.Kernels.Basis = e, &p, c.Basis()
	return nil
}

// Fits refuses a correction fitted on lots of the other state of the crop; an empty state is fresh.
func (c *Correction) Fits(state string) error {
	if have, of := cmp.Or(state, "fresh"), cmp.Or(c.State, "fresh"); have != of {
		return fmt.Errorf("lab: the correction %q was fitted on %s lots, the sample is %s; they are not mixed", c.Name, of, have)
	}
	return nil
}

// Basis is the sentence that outputs carry.
func (c *Correction) Basis() string {
	return fmt.Sprintf("from outlines, corrected by %q (%d laboratory pairs, %s); an estimate, not a laboratory score", c.Name, c.Line.N, cmp.Or(c.State, "fresh"))
}

// Load reads a stored correction and checks that its numbers can be used.
func Load(data []byte) (*Correction, error) {
	var c Correction
	var head struct {
		Schema string `json:"schema"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return nil, fmt.Errorf("lab: the correction cannot be read: %w", err)
	}
	if head.Schema != Schema {
		return nil, fmt.Errorf("lab: the correction has the schema %q, not %s", head.Schema, Schema)
	}
	if err := json.Unmarshal(data, &c); err != nil {
		return nil, fmt.Errorf("lab: the correction cannot be read: %w", err)
	}
	l := c.Line
	for _, v := range []float64{l.Slope, l.SlopeSE, l.InterceptSE, c.PhotoSD, c.LabSD, c.HiPct - c.LowPct} {
		if !(v > 0) || math.IsInf(v, 0) {
			return nil, errors.New("lab: the correction lacks a number it needs; fit it again with gristmark lab fit")
		}
	}
	if l.N < LeastPairs || c.Name == "" || c.ExtraSD < 0 || math.IsNaN(l.Intercept+l.Covariance+l.Chi2) {
		return nil, errors.New("lab: the correction is incomplete; fit it again with gristmark lab fit")
	}
	return &c, nil
}
