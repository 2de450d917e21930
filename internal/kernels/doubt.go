package kernels

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"gristmark/internal/result"
)

// What holding the photos' whole kernels against the stored ones takes for granted.
const (
	surelyWhole = 0.8  // chance of a whole kernel from which a piece is one of those compared
	fewestWhole = 6    // of them; fewer say too little
	byChance    = 0.01 // chance that kernels of the same hybrid are doubted, for size and for colour each
	measuringSD = 0.02 // relative, of a length in one photo against another: height of the kernels, ruler, edges
	lightnessSD = 8.0  // of L* of one photo against another: light falls off over the tray, kernels are wet or dry
	strengthSD  = 0.25 // relative, of the chroma: cameras paint more or less strongly, wet kernels are stronger in colour
	hueSD       = 0.06 // radians, of the hue: what white paper leaves of a light and a camera
	tintSD      = 3.0  // of the chroma either way, which pale kernels have little more of
)

// Doubts says, a sentence each, where the photos' whole kernels are not like the stored ones, so that these may be of another hybrid, and where
// that could not be seen. Nothing is said where they agree.
//
// Sizes are held against each other by the difference of means over its standard error, that of both samples' spread and of measuring on two
// photos; colours by the squared distance of means over the same in lightness L*, and in strength and hue of the chroma 100 a*/(L*+16),
// 100 b*/(L*+16), which light of another strength does not change.
func (s Stored) Doubts(photos []result.Photo) []string {
	var whole []result.Particle
	white := ""
	for _, p := range photos {
		if p.Status != result.Measured || p.DuplicateOf != "" || p.SameSpreadAs != "" {
			continue
		}
		if white == "" && p.White != nil {
			white = p.White.From
		}
		for _, q := range p.Particles {
			if (q.PWhole >= surelyWhole || q.Reviewed && q.Class == result.WholeKernel) && !q.CutByEdge {
				whole = append(whole, q)
			}
		}
	}
	if len(whole) < fewestWhole {
		return []string{fmt.Sprintf("%d surely whole kernel(s) are too few to see whether they are of the stored hybrid %s; %d would do", len(whole), s.Name, fewestWhole)}
	}
	return append(s.sizeDoubt(whole), s.colourDoubt(whole, white)...)
}

// seen is the mean of n values and their variance.
type seen struct{ n, mean, variance float64 }

func seenOf(values []float64) seen {
	sp := spread(values)
	return seen{float64(len(values)), sp.Mean, sp.SD * sp.SD}
}

// meanVariance is the variance of the mean.
func (a seen) meanVariance() float64 { return a.variance / a.n }

// measure is a size that is compared.
type measure struct {
	stored     Spread
	of         func(result.Particle) float64
	doubt      float64 // relative standard deviation of measuring
	more, less string
}

func (s Stored) measures() []measure {
	return []measure{
		{s.LengthMM, func(q result.Particle) float64 { return q.MaxFeretMM }, measuringSD, "longer", "shorter"},
		{s.WidthMM, func(q result.Particle) float64 { return q.MinFeretMM }, measuringSD, "wider", "narrower"},
		{s.AreaMM2, func(q result.Particle) float64 { return q.AreaMM2 }, 2 * measuringSD, "larger", "smaller"},
	}
}

// sizeDoubt names the size that differs most, where chance and measuring do not explain it.
func (s Stored) sizeDoubt(whole []result.Particle) []string {
	worst, say := 1.0, ""
	for _, m := range s.measures() {
		values := make([]float64, len(whole))
		for i, q := range whole {
			values[i] = m.of(q)
		}
		now := seenOf(values)
		t, limit := s.t(now, m)
		if math.Abs(t)/limit <= worst {
			continue
		}
		worst = math.Abs(t) / limit
		how := m.more
		if t < 0 {
			how = m.less
		}
		say = fmt.Sprintf("%d whole kernels are %.0f %% %s than the stored kernel %s, more than chance and measuring explain: they may be of different hybrids",
			len(whole), 100*math.Abs(now.mean/m.stored.Mean-1), how, s.Name)
	}
	if say == "" {
		return nil
	}
	return []string{say}
}

// t is the difference of the means over its standard error, and what it may be by chance (two sides, three sizes).
func (s Stored) t(now seen, m measure) (t, limit float64) {
	n, m0 := float64(s.N), m.stored
	free := math.Max(1, now.n+n-2)
	within := ((now.n-1)*now.variance + (n-1)*m0.SD*m0.SD) / free
	error2 := within*(1/now.n+1/n) + math.Pow(m.doubt*m0.Mean, 2)
	t = (now.mean - m0.Mean) / math.Sqrt(error2)
	return t, distuv.StudentsT{Mu: 0, Sigma: 1, Nu: free}.Quantile(1 - byChance/6)
}

// colourDoubt says how the colour differs, or why it was not compared.
func (s Stored) colourDoubt(whole []result.Particle, white string) []string {
	var labs [][3]float64
	for _, q := range whole {
		if q.ColourLab != nil {
			labs = append(labs, *q.ColourLab)
		}
	}
	switch {
	case s.OnWhite == nil:
		return []string{fmt.Sprintf("colours were not compared: the stored kernel %s was kept without a white beside it; store it anew with the card in the photo", s.Name)}
	case white == "":
		return []string{"colours were not compared with the stored kernel: the photos show no white paper or tray that is not burnt out"}
	case len(labs) < fewestWhole:
		return nil
	}
	d := s.colourDistance(labs)
	if d.squared <= (distuv.ChiSquared{K: 3}).Quantile(1-byChance) {
		return nil
	}
	return []string{fmt.Sprintf("%d whole kernels are %s than the stored kernel %s, more than light and camera explain with %s taken as white: they may be of different hybrids",
		len(labs), d.word(), s.Name, map[string]string{WhitePaper: "the paper of the ruler", WhiteTray: "the tray"}[white])}
}

// distance of two mean colours in standard deviations: of lightness, of strength (chroma), and of hue, from red to yellow and on.
type distance struct {
	by      [3]float64
	squared float64
}

func (s Stored) colourDistance(labs [][3]float64) (d distance) {
	var values [3][]float64
	for _, lab := range labs {
		for k, v := range apart(lab) {
			values[k] = append(values[k], v)
		}
	}
	c := s.OnWhite
	per := 100 / (c.L.Mean + 16)
	before := [3]seen{{float64(s.N), c.L.Mean, c.L.SD * c.L.SD}, {float64(s.N), per * c.A.Mean, per * per * c.A.SD * c.A.SD}, {float64(s.N), per * c.B.Mean, per * per * c.B.SD * c.B.SD}}
	var now [3]seen
	for k := range now {
		now[k] = seenOf(values[k])
	}
	strength := func(at [3]seen) float64 { return math.Hypot(at[1].mean, at[2].mean) }
	middle := (strength(now) + strength(before)) / 2
	turn := math.Atan2(now[2].mean, now[1].mean) - math.Atan2(before[2].mean, before[1].mean)
	chance := func(k int) float64 { return now[k].meanVariance() + before[k].meanVariance() }
	tint := tintSD*tintSD + (chance(1)+chance(2))/2
	d.by[0] = (now[0].mean - before[0].mean) / math.Sqrt(lightnessSD*lightnessSD+chance(0))
	d.by[1] = (strength(now) - strength(before)) / math.Sqrt(math.Pow(strengthSD*middle, 2)+tint)
	d.by[2] = middle * math.Remainder(turn, 2*math.Pi) / math.Sqrt(math.Pow(hueSD*middle, 2)+tint)
	for _, z := range d.by {
		d.squared += z * z
	}
	return d
}

// apart parts a colour in its lightness and in chromas that do not change with the strength of the light: L*+16, a* and b* all go with its cube root.
func apart(lab [3]float64) [3]float64 {
	per := 100 / math.Max(lab[0]+16, 1)
	return [3]float64{lab[0], per * lab[1], per * lab[2]}
}

// word names the direction that differs most.
func (d distance) word() string {
	most := 0
	for k, z := range d.by {
		if math.Abs(z) > math.Abs(d.by[most]) {
			most = k
		}
	}
	pair := [3][2]string{{"darker", "lighter"}, {"paler", "stronger in colour"}, {"redder", "less red"}}[most]
	if d.by[most] < 0 {
		return pair[0]
	}
	return pair[1]
}
