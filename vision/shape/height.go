package shape

import "math"

// Body says how a piece stands up from the tray, which decides what its outline in a photo is the outline of: all in shares of its height. Its widest
// part, the rim, stands at Rim; above and below it the edge is round, as an ellipse whose half axes are High, upright, and Deep, level.
type Body struct{ Rim, High, Deep float64 }

// Bodies of pieces, near what errs least over 400 whole kernels, 400 broken ones and 1,900 pieces of stover of rendered tuning scenes, seen by their true
// outlines and heights: the median area is then off by 0.8, 1.7 and, by the kind of stover, 0.3 to 1 %. A broken kernel's rim lies lower, for breaks slope.
var (
	WholeBody  = Body{Rim: 0.42, High: 0.45, Deep: 0.45}
	BrokenBody = Body{Rim: 0.3, High: 0.5, Deep: 0.6}
	StoverBody = Body{Rim: 0.5, High: 0.5, Deep: 0.37}
)

// Steps along an outline, mm.
const (
	seenStep   = 0.25 // of the points that FromAbove moves
	normalOver = 0.5  // to either side of a point, for the outline's direction there
)

// FromAbove turns the outline of a piece as a camera shows it on the tray plane, mm, into the outline seen from straight above. foot is the point of the
// plane under the camera, cameraHeightMM (H) the camera's height over it and pieceHeightMM (t) the piece's own height. Unless 0 < t < H the outline comes
// back as it is. The result is a new outline, clockwise or not as the given one, with points at least every quarter of a millimetre.
//
// A point at height h over the plane, at q seen from above, is seen on the plane at
//
//	p = foot + (q - foot)·H/(H - h),   so   q = p - (p - foot)·h/H:
//
// everything above the plane looks larger by H/(H-h) and pushed outward by m·h, where m = |q - foot|/(H - h) = |p - foot|/H is the slope of the line of
// sight. For all of the rim h = Rim·t.
//
// Around the rim the edge bulges. Where the line of sight leans by the slope n·m over the rim, n being the rim's outward normal, it touches the ellipse with
// half axes a = High·t and r = Deep·t not at the rim but farther out by
//
//	δ = √(r² + a²(n·m)²) - r,
//
// the support of the ellipse in that direction. Each point is moved back inward by its δ along its normal: exact for straight sides, to first order in δ
// over the radius of curvature for others. Corners move by no more than sides do, as they taper.
func (b Body) FromAbove(outlineMM []XY, foot XY, cameraHeightMM, pieceHeightMM float64) []XY {
	rise := pieceHeightMM / cameraHeightMM
	if !(rise > 0 && rise < 1) || len(outlineMM) < 3 {
		return append([]XY(nil), outlineMM...)
	}
	seen := densify(outlineMM, seenStep)
	out := make([]XY, len(seen))
	high, deep := b.High*pieceHeightMM, b.Deep*pieceHeightMM
	for i, n := range outwards(seen) {
		p := seen[i]
		way := sub(p, foot)
		bulge := math.Hypot(deep, high*dot(n, way)/cameraHeightMM) - deep
		out[i] = sub(sub(p, mul(way, b.Rim*rise)), mul(n, bulge))
	}
	return out
}

// Inset moves an outline inward along the normals of its points by some way in its own unit, outward where that is less than nothing: by much less than
// its radii of curvature. The result is a new outline, clockwise or not as the given one, with points at least every quarter of that unit.
func Inset(outline []XY, by float64) []XY {
	if len(outline) < 3 {
		return append([]XY(nil), outline...)
	}
	o := densify(outline, seenStep)
	out := make([]XY, len(o))
	for i, n := range outwards(o) {
		out[i] = sub(o[i], mul(n, by))
	}
	return out
}

// outwards are the outward normals of an outline's points, over normalOver to either side.
func outwards(o []XY) []XY {
	sign := math.Copysign(1, Area(o))
	out := make([]XY, len(o))
	for i := range o {
		t := unit(sub(ahead(o, i, 1), ahead(o, i, -1)))
		out[i] = XY{sign * t[1], -sign * t[0]}
	}
	return out
}

// ahead is the first point of the outline from i on, one way or the other, that lies normalOver away or an eighth of all points.
func ahead(o []XY, i, step int) XY {
	n := len(o)
	for k := 1; ; k++ {
		p := o[((i+step*k)%n+n)%n]
		if 8*k >= n || dist(p, o[i]) >= normalOver {
			return p
		}
	}
}

// densify puts points on edges longer than step, evenly, and keeps those that are there.
func densify(o []XY, step float64) []XY {
	var out []XY
	for i, p := range o {
		q := o[(i+1)%len(o)]
		n := int(min(max(math.Ceil(dist(p, q)/step), 1), 1000))
		for k := range n {
			out = append(out, lerp(p, q, float64(k)/float64(n)))
		}
	}
	return out
}
