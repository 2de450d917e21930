package vision

import (
	"math"
	"slices"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// draft is a particle on its way: outline known, name and height still to come.
type draft struct {
	result.Particle
	features []float64
	seenMM   []result.XY // outline as the photo shows it, on the tray plane
	figure   figure      // of seenMM
	closeUp  CloseUp
	said     closeLook // of the close-up
	inside   colours
	lift     float64 // how often its light goes into that of the tray's rest
	onDark   float64 // share of its surroundings that is too dark for the tray
	blob     int     // index of the blob it is a part of
	crossed  bool    // passes over or under another piece
	faint    bool    // so small and of so little contrast that it may be a stain
	pForeign float64 // probability that it is nothing of the crop
}

// describe measures a part as seen and reads its features; false where it is too small to count.
func (s *search) describe(q seen, plane Plane, opt Options) (draft, bool) {
	d := draft{seenMM: toMM(q.px, plane), blob: q.blob, crossed: q.crossed}
	if len(d.seenMM) < 3 || math.Abs(shape.Area(d.seenMM)) < 0.5*opt.PieceMM*opt.PieceMM {
		return d, false
	}
	hull := shape.ConvexHull(d.seenMM)
	if hull.MaxFeret().Length < opt.PieceMM || !s.beyond.holds(shape.Centroid(q.work)) {
		return d, false
	}
	at := shape.Centroid(q.px)
	mmPerPx := plane.MMPerPxAt(at)
	read := reader{lab: &s.work.lab, depth: s.depth, contrast: s.contrast, net: s.net, back: &s.back, mmPer: mmPerPx * math.Sqrt(s.work.sx*s.work.sy), lift: s.level.at(shape.Centroid(q.work))}
	d.inside = read.colours(q.work, shape.MaxFeret(q.work).Angle)
	d.inside.fieldDepth, d.inside.edgeShare = s.place(q.work)
	d.AtPx, d.OutlinePx = at, q.px
	d.lift = read.lift
	d.CutByEdge, d.onDark = s.atEdge(q.work), s.onDarkObject(q.work)
	d.figure = figureOf(d.seenMM, hull)
	d.features = features(d.figure, d.inside, opt.Kernel)
	return d, true
}

// atEdge tells whether the outline meets the photo's frame, the edge of the field and of what is seen beyond, or an excluded part.
func (s *search) atEdge(o []result.XY) bool {
	w, h := s.work.lab.w, s.work.lab.h
	for _, p := range o {
		if p[0] < 1.6 || p[1] < 1.6 || p[0] > float64(w)-1.6 || p[1] > float64(h)-1.6 {
			return true
		}
		for _, d := range [4]result.XY{{1.6, 0}, {-1.6, 0}, {0, 1.6}, {0, -1.6}} {
			cx, cy := int(p[0]+d[0])/cellPx, int(p[1]+d[1])/cellPx
			if cx < s.back.w && cy < s.back.h && !s.reach[cy*s.back.w+cx] {
				return true
			}
		}
	}
	return false
}

// leastOwn is how many whole kernels a photo must show before the crop's own size replaces the
// given one while naming.
const leastOwn = 8

// name gives each draft its probabilities and class. Kernels that are surely whole tell this
// crop's own size, and everything is named once more against it.
func name(drafts []draft, m *Model, opt Options) {
	nameAgainst(drafts, m, opt.Kernel, opt)
	if own, ok := ownKernel(drafts, opt.Kernel); ok {
		nameAgainst(drafts, m, own, opt)
	}
}

func nameAgainst(drafts []draft, m *Model, k Kernel, opt Options) {
	to := usual(opt.Show)
	ps := make([]odds4, len(drafts))
	for i := range drafts {
		d := &drafts[i]
		d.features = features(d.figure, d.inside, k)
		ps[i] = m.shift(m.Probabilities(d.features), to)
		if opt.Show != ShowKernels {
			ps[i] = tooLarge(ps[i], d.figure.area/k.AreaMM2())
		}
		ps[i] = tooSlender(ps[i], ratio(d.figure.long, d.figure.slim))
	}
	remix(ps, to)
	for i := range drafts {
		drafts[i].call(ps[i], k)
	}
}

// call gives a draft its probabilities, if it is of the crop at all, and its class, which is unsure as well where it may be nothing of the crop.
func (d *draft) call(p odds4, k Kernel) {
	d.pForeign = p[3]
	for k := range 3 {
		p[k] /= math.Max(1-p[3], 1e-6)
	}
	d.PWhole, d.PBroken, d.PStover = p[0], p[1], p[2]
	d.Class, d.Probability = named(p, 1-d.pForeign)
	d.KernelShare = nil
	if d.Class != result.Stover {
		share := math.Min(1, d.figure.area/k.AreaMM2())
		d.KernelShare = &share
	}
}

// sureAt is the probability from which a class is named.
const sureAt = 0.6

// named is the likeliest class of a part that is of the crop with the probability crop, and how likely it is that; unsure below sureAt.
func named(p odds4, crop float64) (result.Class, float64) {
	k := 0
	for i := range 3 {
		if p[i] > p[k] {
			k = i
		}
	}
	if p[k]*crop < sureAt {
		return result.Unsure, p[k] * crop
	}
	return [3]result.Class{result.WholeKernel, result.BrokenKernel, result.Stover}[k], p[k] * crop
}

// ownKernel scales the given kernel to the median area of those that are surely whole.
func ownKernel(drafts []draft, k Kernel) (Kernel, bool) {
	var areas []float64
	for _, d := range drafts {
		if d.PWhole > 0.8 && !d.CutByEdge {
			areas = append(areas, d.figure.area)
		}
	}
	if len(areas) < leastOwn {
		return k, false
	}
	slices.Sort(areas)
	f := math.Sqrt(areas[len(areas)/2] / k.AreaMM2())
	f = math.Max(0.75, math.Min(1.25, f))
	return Kernel{k.LengthMM * f, k.WidthMM * f, k.ThicknessMM}, true
}

// finish puts the outline where the close-up shows the edge, corrects it for the height that it shows, and measures it. Of pieces that cross each other the
// close-up shows what lies in between, and was not fitted on those of which a part is hidden.
func (d *draft) finish(plane Plane) {
	if !d.crossed {
		d.seenMM = shape.Inset(d.seenMM, d.said.outMM(d.closeUp.SideMM))
	}
	o := d.seenMM
	if foot, height, ok := cameraOver(plane); ok {
		o = d.fromAbove(foot, height, d.said.heightMM())
	}
	d.measure(o)
	d.OutlineMM = o
}

// Distances to the field's edge: onEdge, in cells, is still on it; farther in than mostDepthMM is all
// the same.
const (
	onEdge      = 1.6
	mostDepthMM = 25
)

// place tells how a part lies to the edge of the field, where the photo's frame is no edge: the log of
// the middle distance of its outline, mm, and the share of the outline that lies on the edge.
func (s *search) place(o []result.XY) (depth, share float64) {
	var sum float64
	on := 0
	for _, p := range o {
		cx, cy := min(max(int(p[0])/cellPx, 0), s.back.w-1), min(max(int(p[1])/cellPx, 0), s.back.h-1)
		d := float64(s.edge[cy*s.back.w+cx])
		if d < onEdge {
			on++
		}
		sum += math.Min(d*cellPx/s.pxPerMM, mostDepthMM)
	}
	n := math.Max(1, float64(len(o)))
	return math.Log(sum/n + 0.2), float64(on) / n
}
