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
	// The card has ticks of its own, which blur a little over its edge.
	const rim = 1.5 // mm
	sheet := card.Card()
	onCard := func(px result.XY) bool {
		mm := plane.ToMM(px)
		return mm[0] > -rim && mm[0] < sheet.WidthMM+rim && mm[1] > -rim && mm[1] < sheet.HeightMM+rim
	}
	rule, err := bestRule(p, Spec{Kind: Rule, PitchMM: 1}, onCard)
	if err != nil {
		return 0, err
	}
	if rule == nil {
		return 0, noRuler("no rule with millimetre ticks beside the card; lay a steel rule along its longer side, ticks in view")
	}
	a := plane.ToMM(rule.strip.at(rule.place(float64(rule.first)), rule.d))
	b := plane.ToMM(rule.strip.at(rule.place(float64(rule.last)), rule.d))
	scale := float64(rule.last-rule.first) / dist(a, b)
	if scale < 1-maxPrintError/100 || scale > 1+maxPrintError/100 {
		return 0, doubtful("beside the rule the card would be printed at %.0f %%; lay both flat, side by side", 100*scale)
	}
	return scale, nil
}
