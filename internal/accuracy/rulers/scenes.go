package rulers

import (
	"math"

	"gristmark/calib"
	"gristmark/calib/card"
)

// Scene is a drawn photo of a ruler, with its truth.
type Scene struct {
	Spec calib.Spec
	Lens calib.Lens

	pic     picture
	lie     lie     // of the ruler
	stretch float64 // its length over the length that Spec tells, as far as it is not told
	marks   []XY    // points of the ruler, its own mm, whose place in the photo is compared
	pieceMM float64 // thickness of a piece on the tray
}

// Ruler is a way to draw scenes.
type Ruler struct {
	Name  string
	GoalP float64 // 95 % of the scale errors are to be within, %
	Draw  func(seed uint64, size Size) Scene

	Wide bool // the interval allows for more than is drawn here: a tilt that one rule does not show
}

// Rulers lists those of the report.
func Rulers() []Ruler {
	return []Ruler{
		{Name: "card", GoalP: 0.4, Draw: CardScene},
		{Name: "mat", GoalP: 0.4, Draw: MatScene},
		{Name: "grid", GoalP: 0.6, Draw: GridScene},
		{Name: "frame", GoalP: 0.6, Draw: FrameScene},
		{Name: "frame askew, corners outside", GoalP: 0.6, Draw: AskewFrameScene},
		{Name: "rule, tilt up to 2°", GoalP: 1.5, Draw: func(seed uint64, size Size) Scene { return ruleScene(seed, size, 2) }, Wide: true},
		{Name: "rule, tilt up to 12°", GoalP: 0, Draw: func(seed uint64, size Size) Scene { return ruleScene(seed, size, 12) }},
		{Name: "card, barrel of 6 %", GoalP: 1, Draw: barrel(CardScene)},
		{Name: "mat, barrel of 6 %", GoalP: 1, Draw: barrel(MatScene)},
		{Name: "grid, barrel of 6 %", GoalP: 1, Draw: barrel(GridScene)},
		{Name: "frame, barrel of 6 %", GoalP: 1, Draw: barrel(FrameScene)},
	}
}

// barrel draws the same scenes through a lens of 6 % barrel that no profile tells of.
func barrel(of func(uint64, Size) Scene) func(uint64, Size) Scene {
	return func(seed uint64, size Size) Scene {
		s := of(seed, size)
		s.pic.cam.bend = [2]float64{-0.06, 0}
		return s
	}
}

// sheetScene lays a printed sheet on the tray and chop on both.
func sheetScene(r draws, sheet card.Sheet, c camera, lens calib.Lens, kind calib.Kind, aside XY, turn float64) Scene {
	s := Scene{Spec: calib.Spec{Kind: kind}, Lens: lens, stretch: r.around(printSD)}
	print := s.stretch
	if r.chance(0.3) { // somebody checked the print
		s.Spec.PrintScale = s.stretch * r.around(checkSD)
		s.stretch /= s.Spec.PrintScale
	}
	s.lie = r.paper(&c, print, turn)
	s.lie.centred(XY{sheet.WidthMM / 2, sheet.HeightMM / 2}, aside)
	s.pic = r.photo(c)
	s.pieceMM = r.thickness()
	for _, m := range sheet.Markers {
		q := m.Corners()
		s.marks = append(s.marks, q[:]...)
	}
	s.pic.layers = []surface{r.tray(), s.lie.surface(printed(sheet))}
	return s
}

// thickness of a kernel, mm: the published dent kernel's (Sezer et al., 4.57 mm) with a spread from memory.
func (r draws) thickness() float64 { return max(2.5, 4.57+0.7*r.NormFloat64()) }

// CardScene is the card beside chop, near the photo's rim, a straw or two across it.
func CardScene(seed uint64, size Size) Scene {
	r := newDraws(seed, size)
	c, lens := r.camera(200, 340, 15, r.between(0, 2*math.Pi), XY{})
	// Beyond the middle half of the photo's shorter side, all of it in the photo.
	aside, turn := c.ground(r.size.at(r.between(0.38, 0.62), pick(r, r.between(0.16, 0.3), r.between(0.7, 0.84)))), r.between(-0.15, 0.15)
	// Along the photo's longer side, either way up.
	right := c.ground(r.size.at(0.5, 0.5))
	far := c.ground(r.size.at(0.55, 0.5))
	turn += math.Atan2(far[1]-right[1], far[0]-right[0]) + pick(r, 0, math.Pi)
	s := sheetScene(r, card.Card(), c, lens, calib.Card, aside, turn)
	s.litter(r, 0.35, func(q XY) bool { return !inside(s.lie.own(q), -12, -12, 162, 52) || r.chance(0.04) })
	return s
}

// MatScene is a mat with chop on its field and on a part of its rim.
func MatScene(seed uint64, size Size) Scene {
	r := newDraws(seed, size)
	sheet := pick(r, card.MatA4(), card.MatA4(), card.MatA3())
	roll := r.between(-0.1, 0.1)
	c, lens := r.camera(0.95*sheet.WidthMM, 1.2*sheet.WidthMM, 12, roll, XY{})
	s := sheetScene(r, sheet, c, lens, calib.Mat, c.ground(r.size.at(r.between(0.47, 0.53), r.between(0.47, 0.53))), pick(r, 0, math.Pi))
	f := sheet.FieldMM
	buried := r.chance(0.3) // half of the rim
	s.litter(r, 0.35, func(q XY) bool {
		own := s.lie.own(q)
		return inside(own, f[0]+4, f[1]+4, f[2]-4, f[3]-4) || buried && own[0] < sheet.WidthMM*0.45 || r.chance(0.05)
	})
	return s
}

func inside(q XY, x0, y0, x1, y1 float64) bool {
	return q[0] > x0 && q[1] > y0 && q[0] < x1 && q[1] < y1
}

// litter strews chop over what the photo shows, where keep allows, with its shadows.
func (s *Scene) litter(r draws, share float64, keep func(XY) bool) {
	low, high := s.view()
	c := strew(r.Rand, low, high, share, keep)
	aside := XY{r.between(-1.5, 1.5), r.between(-1.5, 1.5)}
	for i, l := range s.pic.layers {
		s.pic.layers[i] = c.shadowed(l, aside)
	}
	s.pic.layers = append(s.pic.layers, c.surface)
}

// view is the box of the tray that the photo shows.
func (s *Scene) view() (low, high XY) {
	low, high = XY{math.Inf(1), math.Inf(1)}, XY{math.Inf(-1), math.Inf(-1)}
	size := Size{s.pic.cam.w, s.pic.cam.h}
	for i := range 3 {
		for j := range 3 {
			mm := s.pic.cam.ground(size.at(float64(i)/2, float64(j)/2))
			for k := range 2 {
				low[k], high[k] = min(low[k], mm[k]), max(high[k], mm[k])
			}
		}
	}
	return low, high
}

// GridScene is a cutting mat or graph paper with chop on it.
func GridScene(seed uint64, size Size) Scene {
	r := newDraws(seed, size)
	pitch := pick(r, 5, 6.35, 10, 10, 12.7, 20, 25.4)
	w, h := pitch*math.Ceil(r.between(260, 420)/pitch), pitch*math.Ceil(r.between(200, 300)/pitch)
	c, lens := r.camera(0.6*w, 0.9*w, 25, r.between(0, 2*math.Pi), XY{})
	s := Scene{Spec: calib.Spec{Kind: calib.Grid, PitchMM: pitch}, Lens: lens, stretch: r.around(gridSD), pieceMM: r.thickness()}
	s.lie = lie{stretch: s.stretch, above: r.between(0, 0.1), eye: c.eye, turn: r.between(0, 2*math.Pi)}
	s.lie.centred(XY{w / 2, h / 2}, XY{r.between(-20, 20), r.between(-15, 15)})
	dark := pick(r, rgb(30, 80, 60), rgb(40, 40, 44), rgb(38, 72, 122), rgb(120, 30, 60))
	pale := pick(r, rgb(190, 200, 180), rgb(225, 215, 150), rgb(235, 235, 230))
	ink := pick(r, rgb(60, 90, 150), rgb(110, 110, 110), rgb(40, 40, 40), rgb(150, 110, 80))
	line := min(r.between(0.25, 0.8), pitch/12)
	heavy := pick(r, 0, 0, 2, 5, 10)
	of := gridded(w, h, pitch, line, heavy, dark, pale)
	if r.chance(0.5) {
		of = gridded(w, h, pitch, line, heavy, rgb(238, 238, 232), ink)
	}
	for x := 0.0; x <= w; x += pitch {
		for y := 0.0; y <= h; y += pitch {
			s.marks = append(s.marks, XY{x, y})
		}
	}
	s.pic = r.photo(c)
	s.pic.layers = []surface{r.tray(), s.lie.surface(of)}
	s.litter(r, r.between(0, 0.4), nil) // a third hidden at most
	return s
}

// FrameScene is a drawn rectangle or a sheet of paper with chop in it, some of it over the sides, or a corner hidden.
func FrameScene(seed uint64, size Size) Scene { return frameScene(seed, size, false) }

// AskewFrameScene is the same seen from nearer and turned, so that one to four corners lie outside the photo, but more
// than half of each side within it.
func AskewFrameScene(seed uint64, size Size) Scene { return frameScene(seed, size, true) }

func frameScene(seed uint64, size Size, askew bool) Scene {
	r := newDraws(seed, size)
	sides := pick(r, XY{190.5, 254}, XY{210, 297}, XY{215.9, 279.4}, XY{297, 420}, XY{150, 250})
	line := pick(r, 0, r.between(0.5, 1.5), r.between(0.5, 1.5))
	turned := r.chance(0.5)
	w, h := sides[0], sides[1]
	if turned {
		w, h = h, w
	}
	roll := r.between(-0.15, 0.15) + pick(r, 0, math.Pi)
	if w < h {
		roll += math.Pi / 2
	}
	long := math.Max(w, h)
	c, lens := r.camera(1.05*long, 1.4*long, 20, roll, XY{r.between(-0.03, 0.03) * w, r.between(-0.03, 0.03) * h})
	for askew && !c.cuts(w, h) {
		turn := pick(r, -1.0, 1) * r.between(8, 45) * math.Pi / 180
		c, lens = r.camera(0.7*long, 1.1*long, 20, roll+turn, XY{r.between(-0.2, 0.2) * w, r.between(-0.2, 0.2) * h})
	}
	s := Scene{Spec: calib.Spec{Kind: calib.Frame, WidthMM: sides[0], HeightMM: sides[1]}, Lens: lens, stretch: r.around(frameSD), pieceMM: r.thickness()}
	s.lie = r.paper(&c, s.stretch, 0)
	s.lie.centred(XY{w / 2, h / 2}, XY{})
	paper, ink := rgb(236, 236, 230), pick(r, rgb(30, 40, 90), rgb(30, 30, 30), rgb(120, 30, 30))
	if line > 0 && r.chance(0.3) {
		paper, ink = rgb(40, 60, 90), rgb(230, 230, 225)
	}
	tray := r.tray()
	if line == 0 { // the sheet has to differ from the table
		t := pick(r, rgb(40, 60, 90), rgb(90, 90, 86), rgb(70, 95, 70), rgb(110, 80, 55))
		tray = func(XY) (tint, bool) { return t, true }
	}
	s.marks = []XY{{0, 0}, {w, 0}, {w, h}, {0, h}}
	s.pic = r.photo(c)
	s.pic.layers = []surface{tray, s.lie.surface(framed(w, h, line, 12, paper, ink))}
	hidden := r.IntN(8) // one corner in half of the scenes
	s.litter(r, r.between(0.15, 0.4), func(q XY) bool {
		own := s.lie.own(q)
		corner := hidden < 4 && math.Hypot(own[0]-s.marks[hidden%4][0], own[1]-s.marks[hidden%4][1]) < 45
		return corner || inside(own, 14, 14, w-14, h-14) || r.chance(0.12)
	})
	return s
}

// cuts reports whether the photo cuts corners off a rectangle of w x h mm about the tray's origin, yet holds more than
// half of each side.
func (c *camera) cuts(w, h float64) bool {
	corners := [4]XY{{-w / 2, -h / 2}, {w / 2, -h / 2}, {w / 2, h / 2}, {-w / 2, h / 2}}
	cut := false
	for k, a := range corners {
		b, inside := corners[(k+1)%4], 0
		const places = 40
		for i := range places + 1 {
			t := float64(i) / places
			px := c.project(XY{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}, 0)
			switch {
			case px[0] > 0 && px[1] > 0 && px[0] < float64(c.w) && px[1] < float64(c.h):
				inside++
			case i == 0:
				cut = true
			}
		}
		if 2*inside <= places {
			return false
		}
	}
	return cut
}

// ruleScene is a steel rule or tape with chop beside and partly over it.
func ruleScene(seed uint64, size Size, maxTiltDeg float64) Scene {
	r := newDraws(seed, size)
	pitch, per := 1.0, 10
	if r.chance(0.25) {
		pitch, per = 25.4/16, 16
	}
	c, lens := r.camera(140, 200, maxTiltDeg, r.between(0, 2*math.Pi), XY{})
	s := Scene{Spec: calib.Spec{Kind: calib.Rule, PitchMM: pitch}, Lens: lens, stretch: 1, pieceMM: r.thickness()}
	const length, width = 320, 25
	far := c.ground(r.size.at(0.55, 0.5))
	mid := c.ground(r.size.at(0.5, 0.5))
	s.lie = lie{stretch: 1, above: r.between(0.3, 1.1), eye: c.eye, turn: math.Atan2(far[1]-mid[1], far[0]-mid[0]) + r.between(-0.15, 0.15) + pick(r, 0, math.Pi)}
	s.lie.centred(XY{length / 2, 0}, c.ground(r.size.at(r.between(0.45, 0.55), pick(r, r.between(0.2, 0.42), r.between(0.58, 0.8)))))
	body, ink := pick(r, rgb(190, 190, 195), rgb(230, 200, 40), rgb(240, 240, 235), rgb(205, 170, 110)), rgb(25, 25, 25)
	for x := 0.0; 5+x*pitch < length-3; x++ {
		s.marks = append(s.marks, XY{5 + x*pitch, 2})
	}
	s.pic = r.photo(c)
	s.pic.blur = min(s.pic.blur, 0.9)
	s.pic.layers = []surface{r.tray(), s.lie.surface(ruled(length, width, pitch, per, body, ink))}
	s.litter(r, 0.35, func(q XY) bool {
		own := s.lie.own(q)
		return !inside(own, -10, -12, length+10, width+10) || r.chance(0.06)
	})
	return s
}
