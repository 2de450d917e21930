package lab

import (
	"fmt"
	"strings"

	"gristmark/internal/sieve"
)

// Pair is one lot judged both ways, in percent.
type Pair struct {
	Name    string
	Photo   float64 // passing_4_75_pct of the photos
	PhotoSD float64 // its standard deviation, points; 0: not given
	Lab     float64 // laboratory's processing score
	LabSD   float64 // its standard deviation, points; 0: not given
	State   string  // fresh, fermented or empty
	Row     int
}

var columns = map[string]string{
	"name": "name", "sample": "name", "load": "name",
	"photo_pct": "photo", "photo": "photo", "passing_4_75_pct": "photo",
	"photo_sd": "photo_sd", "photo_low": "photo_low", "photo_high": "photo_high",
	"lab_pct": "lab", "lab": "lab", "laboratory": "lab", "score": "lab", "processing_score": "lab",
	"lab_sd": "lab_sd", "state": "state",
}

// ParsePairs reads a CSV or XLSX with the columns photo_pct and lab_pct, and if they are known photo_sd (or photo_low and
// photo_high, a 95 % interval), lab_sd, state and name. A fault names row and column.
func ParsePairs(data []byte) ([]Pair, error) {
	t, err := sieve.ReadTable(data)
	if err != nil {
		return nil, fmt.Errorf("lab: %s", strings.TrimPrefix(err.Error(), "sieve: "))
	}
	at := map[string]int{}
	for j, text := range t.Rows[0] {
		name := strings.ToLower(strings.ReplaceAll(strings.TrimSpace(text), " ", "_"))
		if c, ok := columns[name]; ok {
			at[c] = j
		}
	}
	for _, need := range []string{"photo", "lab"} {
		if _, ok := at[need]; !ok {
			return nil, fmt.Errorf("lab: row %d: no column %s_pct; the first row must name photo_pct and lab_pct", t.Line[0], need)
		}
	}
	var out []Pair
	for i := 1; i < len(t.Rows); i++ {
		if strings.TrimSpace(strings.Join(t.Rows[i], "")) == "" {
			continue
		}
		p, err := readPair(pairRow{cells: t.Rows[i], at: at, line: t.Line[i]})
		if err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, nil
}

type pairRow struct {
	cells []string
	at    map[string]int
	line  int
}

func (r pairRow) text(c string) string {
	j, ok := r.at[c]
	if !ok || j >= len(r.cells) {
		return ""
	}
	return strings.TrimSpace(r.cells[j])
}

// percent reads a cell; ok is false where it is empty.
func (r pairRow) percent(c string) (v float64, ok bool, err error) {
	s := strings.TrimSpace(strings.TrimSuffix(r.text(c), "%"))
	if s == "" {
		return 0, false, nil
	}
	v, err = sieve.ParseNumber(s)
	if err != nil {
		return 0, false, fmt.Errorf("lab: row %d, column %s: %q %w", r.line, c, r.text(c), err)
	}
	if v < 0 || v > 100 {
		return 0, false, fmt.Errorf("lab: row %d, column %s: %g must lie between 0 and 100 %%", r.line, c, v)
	}
	return v, true, nil
}

func readPair(r pairRow) (Pair, error) {
	p := Pair{Name: r.text("name"), Row: r.line, State: strings.ToLower(r.text("state"))}
	if p.State != "" && p.State != "fresh" && p.State != "fermented" {
		return p, fmt.Errorf("lab: row %d, column state: %q is no state; use fresh or fermented", r.line, p.State)
	}
	fields := []struct {
		column string
		into   *float64
		must   bool
	}{{"photo", &p.Photo, true}, {"lab", &p.Lab, true}, {"photo_sd", &p.PhotoSD, false}, {"lab_sd", &p.LabSD, false}}
	for _, f := range fields {
		v, ok, err := r.percent(f.column)
		if err != nil {
			return p, err
		}
		if !ok && f.must {
			return p, fmt.Errorf("lab: row %d, column %s: is empty; leave the whole row out instead", r.line, f.column)
		}
		*f.into = v
	}
	low, hasLow, err := r.percent("photo_low")
	if err != nil {
		return p, err
	}
	high, hasHigh, err := r.percent("photo_high")
	if err != nil {
		return p, err
	}
	if hasLow && hasHigh && p.PhotoSD == 0 {
		if low > p.Photo || high < p.Photo {
			return p, fmt.Errorf("lab: row %d, column photo_low: the interval %g to %g does not hold %g", r.line, low, high, p.Photo)
		}
		p.PhotoSD = (high - low) / 2 / 1.959964
	}
	return p, nil
}
