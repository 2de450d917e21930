package scene

import (
	"image"
	"math"
	"math/rand/v2"

	"gristmark/calib/card"
)

// Scene is one photo to draw.
type Scene struct {
	Settings Settings
	Seed     uint64
	Bare     bool // without the lot's numbers, which take half of the time and tell nothing of the photo
}

// Picture is a rendered photo with its truth.
type Picture struct {
	Image  *image.NRGBA
	Truth  Truth
	Labels []uint16 // a pixel each: id of the thing on top, 0 for none
}

// Render draws the photo of settings and seed.
func Render(s Settings, seed uint64) (*image.NRGBA, Truth) {
	p := Scene{Settings: s, Seed: seed}.Draw()
	return p.Image, p.Truth
}

// Draw renders the scene.
func (sc Scene) Draw() *Picture {
	if sc.Settings.VaryLot {
		sc.Settings.Lot = sc.Settings.Lot.variant(sc.Seed)
	}
	s := sc.Settings
	cam := newCamera(s, stream(sc.Seed, streamCamera))
	b := newGround(s, stream(sc.Seed, streamTray))
	view := viewOf(&cam)
	l := newLighting(s, math.Sqrt(Area(view))/2, stream(sc.Seed, streamLight))
	lay := newLayout(bounds(grown(view, 1.35)))
	print := sc.laySheet(&cam, b, lay, view)
	lay.field, lay.bound = fieldOf(s, b, view)
	facts := factsOf(s.Lot, s.Place.Kernels[1] > 0 && !sc.Bare, s.Place.Pieces[1] > 0 && !sc.Bare)
	extras := sc.strewExtras(lay, b, view)
	sc.strew(lay, facts.kernel.AreaMM2)
	all := append(append([]*piece(nil), lay.pieces...), extras...)
	parallel(len(all), func(i int) {
		if all[i].solid == nil {
			all[i].shape(&s.Lot, l.wet)
		}
	})
	l.relief = newRelief(lay.lo, XY{lay.lo[0] + float64(lay.nx)*lay.step, lay.lo[1] + float64(lay.ny)*lay.step}, all)
	l.castShadows()
	views := make([]*silhouette, len(all))
	parallel(len(all), func(i int) { views[i] = all[i].see(&cam) })
	pl := compose(&cam, b, l, all, views)
	t := sc.truth(&cam, b, print, all, views, pl, facts)
	labels := relabel(pl.label, t.ids)
	return &Picture{Image: develop(pl, s, stream(sc.Seed, streamPhoto)), Truth: t.Truth, Labels: labels}
}

// viewOf is the part of the plane in the frame.
func viewOf(cam *camera) []XY {
	var out []XY
	w, h := float64(cam.w), float64(cam.h)
	for _, c := range [4]XY{{0, 0}, {w, 0}, {w, h}, {0, h}} {
		for i := 0; i < 4; i++ {
			d := [4]XY{{w, 0}, {0, h}, {-w, 0}, {0, -h}}
			k := 0
			switch {
			case c[0] > 0 && c[1] == 0:
				k = 1
			case c[0] > 0:
				k = 2
			case c[1] > 0:
				k = 3
			}
			p := add(c, scale(d[k], float64(i)/4))
			out = append(out, cam.ground(p[0], p[1]))
		}
	}
	return out
}

func grown(poly []XY, k float64) []XY {
	c := Centroid(poly)
	out := make([]XY, len(poly))
	for i, p := range poly {
		out[i] = add(c, scale(sub(p, c), k))
	}
	return out
}

// fieldOf is where centres of pieces may lie, within the strewn part of the view, and the bound that no piece crosses: the
// tray less a margin, or the mat's field.
func fieldOf(s Settings, b *ground, view []XY) (field, bound []XY) {
	bound = b.inner(-s.Place.MarginMM)
	if f := b.sheet.Field(); b.print != nil && f != nil {
		var on []XY
		for _, q := range f {
			on = append(on, b.onSheet(q, b.printScale))
		}
		bound = intersectConvex(bound, on)
	}
	return intersectConvex(grown(view, s.Place.Spread), bound), bound
}

// intersectConvex clips a polygon to a convex one (Sutherland and Hodgman).
func intersectConvex(poly, by []XY) []XY {
	sign := 1.0
	if signedArea(by) < 0 {
		sign = -1
	}
	for i, a := range by {
		e := sub(by[(i+1)%len(by)], a)
		var out []XY
		for j, p := range poly {
			q := poly[(j+1)%len(poly)]
			dp, dq := sign*cross(e, sub(p, a)), sign*cross(e, sub(q, a))
			if dp >= 0 {
				out = append(out, p)
			}
			if (dp >= 0) != (dq >= 0) {
				out = append(out, add(p, scale(sub(q, p), dp/(dp-dq))))
			}
		}
		poly = out
	}
	return poly
}

// laySheet puts card or mat into the view and returns its printed size over nominal.
func (sc Scene) laySheet(cam *camera, b *ground, lay *layout, view []XY) float64 {
	s := sc.Settings
	g := stream(sc.Seed, streamTray+100)
	sheet, ok := card.Named(s.Scale.Sheet)
	print := s.Scale.PrintScale.draw(g)
	if !ok {
		return 1
	}
	pxPerMM := 1 / cam.mmPerPx(float64(cam.w)/2, float64(cam.h)/2)
	if sheet.HasField() {
		b.printScale = print
		b.layCard(sheet, Centroid(view), g.Float64()*2*math.Pi, print, pxPerMM)
		return print
	}
	room := intersectConvex(grown(view, 0.93), b.inner(-2))
	for try := 0; try < 400; try++ {
		turn := g.Float64() * 2 * math.Pi
		if try > 200 {
			turn = float64(g.IntN(4))*math.Pi/2 + math.Atan2(b.sin, b.cos)
		}
		lo, hi := bounds(room)
		at := XY{mix(lo[0], hi[0], g.Float64()), mix(lo[1], hi[1], g.Float64())}
		b.printScale = print
		b.layCardFrame(sheet, at, turn, print)
		out := b.sheetOutline(print)
		if !allInside(room, out) || (try < 120 && dist(at, Centroid(room)) < 0.3*math.Sqrt(Area(room))) {
			continue
		}
		b.layCard(sheet, at, turn, print, pxPerMM)
		lay.block(out, 1.5)
		return print
	}
	b.layCard(sheet, Centroid(room), math.Atan2(b.sin, b.cos), print, pxPerMM)
	lay.block(b.sheetOutline(print), 1.5)
	return print
}

func allInside(poly, points []XY) bool {
	for _, p := range points {
		if !inside(poly, p) {
			return false
		}
	}
	return true
}

// strew lays kernels and stover.
func (sc Scene) strew(lay *layout, meanArea float64) {
	s := sc.Settings
	g := stream(sc.Seed, streamPlace)
	nk, np := s.Place.Kernels.count(g), s.Place.Pieces.count(g)
	touch, across := s.Place.TouchShare.draw(g), s.Place.CrossShare.draw(g)
	order := make([]bool, 0, nk+np) // true for kernels
	for i := 0; i < nk+np; i++ {
		order = append(order, i < nk)
	}
	g.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
	// Those that lie apart come first: they need the room.
	var apart, against, over []*piece
	for i, kernel := range order {
		h := stream(sc.Seed, streamPieces+1+uint64(i))
		switch {
		case kernel:
			p := newKernelPiece(&s.Lot, meanArea, h)
			if chance(h, touch*0.55) { // who is touched counts too
				against = append(against, p)
			} else {
				apart = append(apart, p)
			}
		default:
			p := newStover(&s.Lot, h)
			if chance(h, across*0.7) {
				over = append(over, p)
			} else {
				apart = append(apart, p)
			}
		}
	}
	placeAll(lay, s, apart, against, over, g)
}

func placeAll(lay *layout, s Settings, apart, against, over []*piece, g *rand.Rand) {
	var kernels, stover []*piece
	for _, p := range apart {
		if s.Place.Heap {
			lay.placeAnywhere(p, g)
			continue
		}
		if !lay.placeApart(p, s.Place.GapMM, g) {
			continue
		}
		if p.class.IsKernel() {
			kernels = append(kernels, p)
		} else {
			stover = append(stover, p)
		}
	}
	for _, p := range against {
		if lay.placeTouching(p, kernels, g) {
			kernels = append(kernels, p)
		}
	}
	for _, p := range over {
		if lay.placeAcross(p, stover, g) || lay.placeApart(p, s.Place.GapMM, g) {
			stover = append(stover, p)
		}
	}
}
