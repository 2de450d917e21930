package kernels

import (
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"strings"
	"unicode/utf8"

	"gristmark/internal/kernel"
)

// Schema names the version of the file.
const Schema = "gristmark.kernel/1"

// Spread is a mean over the kernels and their standard deviation.
type Spread struct {
	Mean float64 `json:"mean"`
	SD   float64 `json:"sd"`
}

// Colour is CIE L*a*b* as the photo shows it, under its light and white balance.
type Colour struct {
	L Spread `json:"l"`
	A Spread `json:"a"`
	B Spread `json:"b"`
}

// Stored is the unbroken kernel of a hybrid.
type Stored struct {
	Schema string `json:"schema"`
	Name   string `json:"name"`

	N       int      `json:"n"`        // whole kernels measured
	Photos  []string `json:"photos"`   // their files, without folder
	TakenAt string   `json:"taken_at"` // of the first photo, RFC 3339; empty: not told
	Ruler   string   `json:"ruler"`    // what told the scale: card, mat, rule, …

	LengthMM Spread `json:"length_mm"` // largest Feret diameter
	WidthMM  Spread `json:"width_mm"`  // smallest
	AreaMM2  Spread `json:"area_mm2"`  // seen from straight above

	ThicknessMM   float64 `json:"thickness_mm"`
	ThicknessFrom string  `json:"thickness_from"` // why it is taken so

	Outline []Spread `json:"outline"` // radius from the centroid over that of the circle of equal area, from the crown on, halves folded together
	Colour  *Colour  `json:"colour"`  // null: the photo's picture was not at hand

	OnWhite   *Colour `json:"colour_on_white,omitempty"` // the same with the photo's white taken as white; null: it shows none
	WhiteFrom string  `json:"white_from,omitempty"`      // paper or tray, as the first photo with a white shows it
}

// thicknessOverWidth is that of the default kernel (Sezer et al., African Journal of Biotechnology): a photo from above shows no thickness.
var thicknessOverWidth = kernel.Default().ThicknessMM / kernel.Default().WidthMM

// sizeForm is what --kernel takes for a size.
var sizeForm = regexp.MustCompile(`^[\d.,]+\s*[x×]\s*[\d.,]+\s*[x×]\s*[\d.,]+(\s*mm)?$`)

const longestName = 60

// CheckName refuses a name that cannot be a file's or would be taken for a size.
func CheckName(name string) error {
	switch {
	case strings.TrimSpace(name) == "" || name != strings.TrimSpace(name):
		return fmt.Errorf("kernels: a kernel needs a name, such as that of its hybrid")
	case utf8.RuneCountInString(name) > longestName:
		return fmt.Errorf("kernels: the name has more than %d letters", longestName)
	case strings.ContainsAny(name, `/\:*?"<>|`) || strings.HasPrefix(name, ".") || strings.ContainsFunc(name, func(r rune) bool { return r < ' ' }):
		return fmt.Errorf(`kernels: the name %q cannot be a file's: use letters, digits, spaces, dots and dashes`, name)
	case sizeForm.MatchString(strings.ToLower(name)):
		return fmt.Errorf("kernels: the name %q would be taken for a size", name)
	}
	return nil
}

// Read reads a stored kernel.
func Read(data []byte) (Stored, error) {
	var s Stored
	if err := json.Unmarshal(data, &s); err != nil {
		return s, fmt.Errorf("kernels: it is no stored kernel: %w", err)
	}
	if s.Schema != Schema {
		return s, fmt.Errorf("kernels: it has the schema %q, not %s; store the kernel anew", s.Schema, Schema)
	}
	if err := CheckName(s.Name); err != nil {
		return s, err
	}
	return s, s.plausible()
}

// Write is the file's content.
func (s Stored) Write() ([]byte, error) {
	data, err := json.MarshalIndent(s, "", " ")
	if err != nil {
		return nil, fmt.Errorf("kernels: %w", err)
	}
	return append(data, '\n'), nil
}

// Limits of what a maize kernel may be; outside them the ruler or the pieces are something else. From memory, beyond any hybrid that is
// grown for forage.
const (
	leastLengthMM, mostLengthMM = 6.0, 15.5
	leastWidthMM, mostWidthMM   = 4.0, 12.0
	leastFill, mostFill         = 0.6, 0.95 // area over length times width; an ellipse has 0.785, a rectangle 1
	mostAreaCV, mostLengthCV    = 0.26, 0.2 // standard deviation over mean; kernels of one lot differ in area by a good tenth
)

func (s Stored) plausible() error {
	l, w, a := s.LengthMM, s.WidthMM, s.AreaMM2
	fill := a.Mean / (l.Mean * w.Mean)
	switch {
	case !(l.Mean >= leastLengthMM && l.Mean <= mostLengthMM) || !(w.Mean >= leastWidthMM && w.Mean <= mostWidthMM) || w.Mean > l.Mean:
		return fmt.Errorf("kernels: they would be %.1f × %.1f mm, as maize kernels never are; check the ruler", l.Mean, w.Mean)
	case !(fill >= leastFill && fill <= mostFill):
		return fmt.Errorf("kernels: their outlines fill %.0f %% of length times width, as whole kernels never do", 100*fill)
	case !(a.SD <= mostAreaCV*a.Mean && a.SD >= 0) || !(l.SD <= mostLengthCV*l.Mean && l.SD >= 0):
		return fmt.Errorf("kernels: they differ too much for one lot (area by %.0f %%, length by %.0f %%): take unbroken kernels of one hybrid, none touching another",
			100*a.SD/a.Mean, 100*l.SD/l.Mean)
	case !(s.ThicknessMM > 0 && s.ThicknessMM <= w.Mean) || math.IsInf(a.Mean, 0) || s.N < 1:
		return fmt.Errorf("kernels: the file holds no kernel's thickness or number")
	}
	return nil
}
