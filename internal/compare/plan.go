package compare

import (
	"fmt"
	"io"
	"math"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"gristmark/internal/plain"
	"gristmark/internal/result"
	"gristmark/internal/stats"
	"gristmark/internal/words"
)

// PlanSchema names the version of the plan document.
const PlanSchema = "gristmark.plan/1"

// Assumption is what a plan takes before any data: the standard deviation of one handful's figure from the
// lot's, and what no number of photos removes.
type Assumption struct {
	SD    float64 // between handfuls, in the measure's unit
	Floor float64 // half width that the model of box and passage leaves, in the measure's unit
}

// Assumptions by measure. They are assumed, not measured on any farm: replaced by the sample's own spread as soon as
// there are two photos.
var Assumptions = map[string]Assumption{
	"passing_4_75_pct": {8, 4}, "whole_pct": {5, 0}, "geometric_mean_mm": {1, 0.2},
	"top_pct": {3, 1}, "middle_pct": {6, 4}, "lower_pct": {4, 4}, "pan_pct": {2, 1}, "top_middle_pct": {6, 4},
}

// shakeFloor is the doubt of a weighed share that no number of shakes removes, points (common practice, from memory).
const shakeFloor = 0.5

// mostUnits bounds a plan: beyond this nobody photographs.
const mostUnits = 400

// Plan says how many photos or shakes it takes.
type Plan struct {
	Schema     string   `json:"schema"`
	Version    string   `json:"version,omitempty"`
	Measure    string   `json:"measure"`
	Unit       string   `json:"unit"`
	Kind       string   `json:"kind"`      // photos or shakes
	Within     float64  `json:"within"`    // wished half width of the 95 % interval
	Have       int      `json:"have"`      // units seen
	HalfNow    *float64 `json:"half_now"`  // half width of the sample's interval now; nil: none
	SD         float64  `json:"sd"`        // of one unit about the lot
	SDFrom     string   `json:"sd_from"`   // sample or assumed
	Floor      float64  `json:"floor"`     // half width that more units do not remove
	Need       *int     `json:"need"`      // units in all; nil: cannot be reached
	More       *int     `json:"more"`      // on top of those seen
	NeedHigh   *int     `json:"need_high"` // if the true spread is as large as these few units leave possible (80 %)
	Conclusion string   `json:"conclusion"`
}

// MakePlan plans for a measure to within a half width. Side is the sample so far; nil before any data.
func MakePlan(side *Side, measure string, within float64) (*Plan, error) {
	m, ok := findMeasure(measure)
	if !ok {
		return nil, fmt.Errorf("compare: there is no measure %q to plan for", measure)
	}
	if !(within > 0 && within <= 50) {
		return nil, fmt.Errorf("compare: a half width of %g %s; it must be more than 0 and at most 50", within, m.Unit)
	}
	p := &Plan{Schema: PlanSchema, Measure: measure, Unit: m.Unit, Kind: Photos, Within: within, SDFrom: "assumed"}
	p.SD, p.Floor = Assumptions[measure].SD, Assumptions[measure].Floor
	highSD := p.SD
	if side != nil {
		e, ok := side.Sample[measure]
		if !ok {
			return nil, fmt.Errorf("compare: %s has no %s", side.Label, measure)
		}
		highSD = p.learn(*side, e)
	}
	p.Need, p.NeedHigh = needed(p.SD, p.Floor, within), needed(highSD, p.Floor, within)
	if p.Need != nil {
		more := max(0, *p.Need-p.Have)
		p.More = &more
	}
	p.Conclusion = p.conclude(nil)
	return p, nil
}

func findMeasure(name string) (Measure, bool) {
	for _, m := range Measures {
		if m.Name == name {
			return m, true
		}
	}
	return Measure{}, false
}

// learn takes the spread from the sample and returns the largest that it leaves possible (one-sided 80 %).
func (p *Plan) learn(s Side, e result.Estimate) (highSD float64) {
	p.Kind = s.Kind
	r := collect(s, p.Measure)
	p.Have = r.units()
	if e.Level > 0 {
		half := (e.High - e.Low) / 2
		p.HalfNow = &half
	}
	if s.Kind == Shakes {
		p.Floor = shakeFloor
	} else if f, ok := s.Models[p.Measure]; ok {
		p.Floor = f
	}
	if p.Have < 2 {
		return p.SD
	}
	se, df := stats.RatioError(r.num, r.den)
	n := float64(p.Have)
	p.SD, p.SDFrom = max(se, r.own)*math.Sqrt(n), "sample"
	return p.SD * math.Sqrt(df/distuv.ChiSquared{K: df}.Quantile(0.2))
}

// needed is the least number of units whose interval is within the half width; nil where it cannot be reached.
func needed(sd, floor, within float64) *int {
	if within <= floor {
		return nil
	}
	room := math.Sqrt(within*within - floor*floor)
	n := stats.UnitsForHalfWidth(sd, room, level)
	if sd == 0 {
		n = 2
	}
	if n < 2 || n > mostUnits {
		return nil
	}
	return &n
}

func (p *Plan) conclude(say *words.Words) string {
	goal := say.T("%s to within ± %s", say.T(measureWords[p.Measure]), p.half(p.Within, say))
	kind := say.T(p.Kind)
	switch {
	case p.Need == nil && p.Within <= p.Floor:
		return say.T("Cannot be reached: %s; ± %s stays whatever the number of %s, from the models behind the figure.", goal, p.half(p.Floor, say), kind)
	case p.Need == nil:
		return say.T("Out of reach: %s takes more than %d %s.", goal, mostUnits, kind)
	case *p.More == 0:
		return say.T("Enough: %s needs %d %s, and there are %d.", goal, *p.Need, kind, p.Have)
	case p.Have == 0:
		return say.T("Take %d %s, each of a fresh handful: %s.", *p.Need, kind, goal)
	case *p.More == 1:
		return say.T("Take 1 more %s, of a fresh handful: %s.", say.T(strings.TrimSuffix(p.Kind, "s")), goal)
	}
	return say.T("Take %d more %s, each of a fresh handful: %s.", *p.More, kind, goal)
}

// half prints a half width with its unit.
func (p *Plan) half(v float64, say *words.Words) string {
	in, decimals := scale(p.Unit, say)
	return say.Trimmed(in(v), decimals) + " " + unitWord(p.Unit, say)
}

// WriteText prints the plan for a person, the conclusion first.
func (p *Plan) WriteText(w io.Writer, say *words.Words) error {
	var b strings.Builder
	b.WriteString(plain.Hang("", p.conclude(say)) + "\n")
	if p.HalfNow != nil {
		b.WriteString(plain.Hang(say.T("Now:")+" ", unitCount(p.Have, p.Kind, say)+", ± "+p.half(*p.HalfNow, say)+"."))
	}
	from := say.T("from the sample itself")
	if p.SDFrom == "assumed" {
		from = say.T("assumed, not measured: plan again after two photos")
	}
	b.WriteString(plain.Hang(say.T("Spread:")+" ", say.T("one handful differs from the lot by a standard deviation of %s (%s).", p.half(p.SD, say), from)))
	switch {
	case p.NeedHigh == nil && p.SDFrom == "sample":
		b.WriteString(plain.Hang(say.T("Doubt:")+" ", say.T("so few say little of the spread; it may take more than can be taken.")))
	case p.NeedHigh != nil && p.Need != nil && *p.NeedHigh > *p.Need:
		b.WriteString(plain.Hang(say.T("Doubt:")+" ", say.T("so few say little of the spread; it may take %s in all.", unitCount(*p.NeedHigh, p.Kind, say))))
	}
	if p.Floor > 0 {
		b.WriteString(plain.Hang(say.T("Limit:")+" ", say.T("± %s stays whatever the number.", p.half(p.Floor, say))))
	}
	_, err := io.WriteString(w, b.String())
	return err
}
