package calib

import (
	"gocv.io/x/gocv"

	"gristmark/calib/card"
	"gristmark/internal/result"
)

// CheckPrint compares a card with a rule of millimetre ticks that lies beside it in the photo, and
// returns printed size over nominal size. Errors wrap ErrNoRuler, ErrDoubtful, ErrConflict or ErrPhoto.
func CheckPrint(photo gocv.Mat) (float64, error) {
	p, err := newPicture(photo)
	if err != nil {
		return 0, err
	}
	plane, err := findSheet(p, Spec{Kind: Card}, Lens{}, string(Card))
	if err != nil {
		return 0, err
	}
	// The card has ticks of its own.
	sheet := card.Card()
	onCard := func(px result.XY) bool {
		mm := plane.ToMM(px)
		return mm[0] > 0 && mm[0] < sheet.WidthMM && mm[1] > 0 && mm[1] < sheet.HeightMM
	}
	rule, err := bestRule(p, Spec{Kind: Rule, PitchMM: 1}, onCard)
	if err != nil {
		return 0, err
	}
	if rule == nil {
		return 0, noRuler("no rule with millimetre ticks beside the card; lay a steel rule along its longer side, ticks in view")
	}
	a := plane.ToMM(rule.strip.at(rule.place(float64(rule.first))+0.5, rule.d))
	b := plane.ToMM(rule.strip.at(rule.place(float64(rule.last))+0.5, rule.d))
	scale := float64(rule.last-rule.first) / dist(a, b)
	if scale < 1-maxPrintError/100 || scale > 1+maxPrintError/100 {
		return 0, doubtful("beside the rule the card would be printed at %.0f %%; lay both flat, side by side", 100*scale)
	}
	return scale, nil
}
