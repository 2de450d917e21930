package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os/exec"
	"strings"

	"gristmark/calib"
	"gristmark/internal/accuracy/rulers"
)

// rulersPart times finding each kind of ruler in a process of its own.
const rulersPart = "rulers"

// rulerSeed is of the drawn photos: one that may be tuned on.
const rulerSeed = 1_000_000

// rulerTime is finding a kind of ruler over the decode of its drawn photo of 12 megapixels.
type rulerTime struct {
	Ruler string  `json:"ruler"`
	Over  float64 `json:"over"`
}

// timeRulers draws a photo of each ruler and times it so many times.
func timeRulers(turns int) (out []rulerTime, err error) {
	calib.SetNumThreads(1)
	for i, r := range rulers.Rulers() {
		if strings.Contains(r.Name, "barrel") {
			continue
		}
		t, err := rulers.Time(r, rulerSeed+uint64(i)*10_000, turns)
		if err != nil {
			return nil, err
		}
		if !t.Found {
			return nil, errors.New("bench: the drawn " + r.Name + " was not found, so its time says nothing")
		}
		out = append(out, rulerTime{r.Name, t.Over()})
	}
	return out, nil
}

// rulerTimes times the rulers by one thread of another process.
func rulerTimes(self string, turns int) ([]rulerTime, error) {
	printed, err := oneThread([]string{self, partFlag, rulersPart, "-", fmt.Sprint(turns)}).Output()
	if err != nil {
		var exit *exec.ExitError
		if errors.As(err, &exit) {
			err = fmt.Errorf("bench: rulers: %w: %s", err, exit.Stderr)
		}
		return nil, err
	}
	var out []rulerTime
	return out, json.Unmarshal(printed, &out)
}

// reportRulers is a line of the ratios.
func reportRulers(times []rulerTime) string {
	var parts, slow []string
	for _, t := range times {
		parts = append(parts, fmt.Sprintf("%s %.2f", t.Ruler, t.Over))
		if t.Over > mostScaleTime {
			slow = append(slow, t.Ruler)
		}
	}
	verdict := "reached"
	if len(slow) > 0 {
		verdict = "NOT reached by " + strings.Join(slow, ", ")
	}
	return fmt.Sprintf("- finding a ruler in its drawn photo, decodes: %s (at most %g: %s)\n", strings.Join(parts, "; "), mostScaleTime, verdict)
}
