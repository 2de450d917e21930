package estimate

import "math"

// box models a shaken sieve box with holes of 19, 8 and 4 mm. A piece is retained when it bridges the hole or when its
// cross-section does not fit: 1 - (1-RL)(1-RS) with RL logistic in ln(length / hole), half retained at Bridge holes, and RS logistic in
// ln(section / hole), section the root of width^2 + thickness^2, half retained at 1 and steep. Thick sieves and a flat shake keep pieces that would
// fall end-on, yet let pieces a little longer than the hole tip through: chop of 19 mm theoretical length leaves about an eighth on the
// 19 mm sieve (common practice), which puts Bridge near 1.45. No measured retention curve is known to us, so its doubt is wide.
// Mass is taken as area times width^0.6 times length^-0.15: stalk and cob are thick, wide and short, leaf and husk thin and long, and an
// outline does not tell them apart (exponents from memory of the sorts' thickness; with a doubt of 0.2 each).
type box struct {
	bridge    float64 // length over hole at which half is retained
	steepness float64 // of the logistic in ln length
	widen     float64 // exponent of width in mass over area
	lengthen  float64 // exponent of length in the same
}

// Standard deviations of the box's doubts, common to all pieces of a sample.
const (
	bridgeSD    = 0.14 // of ln bridge
	steepnessSD = 0.25 // of ln steepness
	massSD      = 0.2  // of either exponent of mass
)

const (
	sectionSteepness = 25
	// flatness is the thickness of stover over its width, at most thickestMM: crushed stalk and leaf; from memory.
	flatness   = 0.3
	thickestMM = 2.5
)

func newBox() box { return box{bridge: 1.45, steepness: 4.5, widen: 0.6, lengthen: -0.15} }

// holesMM are the holes of the box from the top.
var holesMM = [3]float64{19, 8, 4}

// mass is proportional to the piece's mass.
func (b box) mass(areaMM2, lengthMM, widthMM float64) float64 {
	return areaMM2 * math.Pow(widthMM, b.widen) * math.Pow(lengthMM, b.lengthen)
}

// shares are the chances to end in top, middle, lower and pan; they sum to 1.
func (b box) shares(lengthMM, widthMM float64) (out [4]float64) {
	section := math.Hypot(widthMM, min(flatness*widthMM, thickestMM))
	left := 1.0
	for i, hole := range holesMM {
		stays := 1 - falls(lengthMM/(b.bridge*hole), b.steepness)*falls(section/hole, sectionSteepness)
		out[i] = left * stays
		left -= out[i]
	}
	out[3] = left
	return out
}

// falls is 1 / (1 + x^k): a logistic in ln x.
func falls(x, k float64) float64 { return 1 / (1 + math.Pow(x, k)) }
