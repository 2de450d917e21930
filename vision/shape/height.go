package shape

import "math"

// Body says how a piece stands up from the tray, which decides what its outline in a photo is the
// outline of.
type Body int

// The bodies that FromAbove can undo.
const (
	Rounded   Body = iota // a kernel: widest at half its height, its edge round
	Flat                  // a scrap of leaf, husk or rind, or a slice: upright sides, base and top alike
	HalfRound             // a split stalk, flat side down: widest at the tray, highest along its axis
)

// FromAbove is Rounded.FromAbove.
func FromAbove(outlineMM []XY, foot XY, cameraHeightMM, pieceHeightMM float64) []XY {
	return Rounded.FromAbove(outlineMM, foot, cameraHeightMM, pieceHeightMM)
}

// FromAbove turns the outline of a piece as a camera shows it on the tray plane, mm, into the outline seen
// from straight above. foot is the point of the plane under the camera, cameraHeightMM (H) the camera's
// height over it and pieceHeightMM (t) the piece's own height. Unless 0 < t < H the outline comes back as
// it is. The result is a new outline; that of a flat piece has points at least every 200th of the perimeter.
//
// A point at height h over the plane, at q seen from above, is seen on the plane at
//
//	p = foot + (q - foot)·H/(H - h),   so   q = p - (p - foot)·h/H:
//
// everything above the plane looks larger by H/(H-h) and pushed outward by m·h, where m = |q - foot|/(H - h)
// = |p - foot|/H is the slope of the line of sight. What is left is h, the height of the surface at the
// point that makes the outline:
//
// Rounded. A slab with edges round by half its thickness c = t/2 (assumed; a kernel's own are a little less round): all
// points within c of a flat plate at the height c. At a distance from the foot that is large beside its own size, lines
// of sight are parallel, and the outline on the plane is that of the slab sheared by m along the direction d away from the
// foot: pushed out by m·c (h = t/2 for all points), and the ball of radius c that runs along the plate's rim is seen as an
// ellipse, longer along d by the factor √(1+m²). The half extent A along d is thus too long by
//
//	δ = c·(√(1+m²) - 1)
//
// undone by scaling by 1 - δ/A along d, which gives a circle's and a box's area to first order in δ/A too.
//
// Flat. The outline is the base swept along the push m·t of its top. On the far side, seen from the foot,
// the edge of the top makes it (h = t), on the near side the foot of the side face (h = 0), and stretches
// along the push itself join the two: there h goes from 0 to t with the way along the stretch.
//
// HalfRound. The cross-section is a half ellipse over the seen width. Across the axis it is base on the
// near side (h = 0), and on the far side the round itself reaches out to √(b² + m²t²), where the base
// would to b: second order, undone by scaling the width. The far end face shows its rim, h = t·√(1 -
// (q/b)²) at the distance q from the axis; the near one shows the base. The axis is the long side of
// the box of least area: a strongly bent stalk is beyond this first order.
func (b Body) FromAbove(outlineMM []XY, foot XY, cameraHeightMM, pieceHeightMM float64) []XY {
	out := append([]XY(nil), outlineMM...)
	rise := pieceHeightMM / cameraHeightMM
	if !(rise > 0 && rise < 1) || len(out) < 3 {
		return out
	}
	switch b {
	case Flat:
		out = densify(out, Perimeter(out)/200)
		unsweep(out, foot, rise)
	case HalfRound:
		unroll(out, foot, rise)
	default:
		unswell(out, foot, pieceHeightMM, cameraHeightMM)
	}
	return out
}

// unswell undoes the view of a rounded piece.
func unswell(o []XY, foot XY, pieceHeightMM, cameraHeightMM float64) {
	rise := pieceHeightMM / cameraHeightMM
	for i, p := range o {
		o[i] = sub(p, mul(sub(p, foot), rise/2))
	}
	c := Centroid(o)
	push := sub(c, foot)
	d := unit(push)
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range o {
		along := dot(d, sub(p, c))
		low, high = min(low, along), max(high, along)
	}
	slope := norm(push) / (cameraHeightMM - pieceHeightMM/2)
	tooLong := pieceHeightMM / 2 * (math.Hypot(1, slope) - 1)
	if half := (high - low) / 2; half > tooLong {
		k := tooLong / half
		for i, p := range o {
			o[i] = sub(p, mul(d, k*dot(d, sub(p, c))))
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

// unsweep undoes the view of a flat piece.
func unsweep(o []XY, foot XY, rise float64) {
	share := shares(o, foot)
	for i, p := range o {
		o[i] = sub(p, mul(sub(p, foot), rise*share[i]))
	}
}

// shares is, for each point of a flat piece's outline, how far up its side face the point lies: 1 on the
// far side, 0 on the near, and in between along stretches that run within 6° of the push. The outline's
// direction is taken over about a hundredth of it.
func shares(o []XY, foot XY) []float64 {
	const along = 0.1 // sin 6°
	n := len(o)
	k := 1 + n/300
	s := make([]float64, n)
	sign := math.Copysign(1, Area(o))
	for i, p := range o {
		t := unit(sub(o[(i+k)%n], o[(i+n-k)%n]))
		d := unit(sub(p, foot))
		switch c := sign * cross(d, t); { // cosine between the push and the outward normal
		case c > along:
			s[i] = 1
		case c < -along:
			s[i] = 0
		default:
			s[i] = -1
		}
	}
	fillBetween(o, s)
	return s
}

// fillBetween replaces runs of -1 by values that go evenly, by the way along the outline, from the value
// before to the one after; by 1/2 where there are no others.
func fillBetween(o []XY, s []float64) {
	n, start := len(o), -1
	for i := range s {
		if s[i] >= 0 {
			start = i
		}
	}
	if start < 0 {
		for i := range s {
			s[i] = 0.5
		}
		return
	}
	for k := 1; k <= n; {
		if s[(start+k)%n] >= 0 {
			k++
			continue
		}
		end := k
		way := dist(o[(start+k-1)%n], o[(start+k)%n])
		for s[(start+end)%n] < 0 {
			way += dist(o[(start+end)%n], o[(start+end+1)%n])
			end++
		}
		before, after, gone := s[(start+k-1)%n], s[(start+end)%n], 0.0
		for ; k < end; k++ {
			gone += dist(o[(start+k-1)%n], o[(start+k)%n])
			s[(start+k)%n] = before
			if way > 0 {
				s[(start+k)%n] += (after - before) * gone / way
			}
		}
	}
}

// unroll undoes the view of a half-round piece.
func unroll(o []XY, foot XY, rise float64) {
	box := MinAreaRect(o)
	sin, cos := math.Sincos(box.Angle)
	u, v := XY{cos, sin}, XY{-sin, cos}
	push := mul(sub(box.Centre, foot), rise) // of the top
	px, py := dot(push, u), dot(push, v)
	if !(box.Width > 0) {
		return
	}
	far := 1.0
	if py < 0 {
		far = -1
	}
	// W' = b + √(b² + py²), the near side stays
	half := max(box.Width/2-py*py/(2*box.Width), box.Width/4)
	near := -far * box.Width / 2
	for i, p := range o {
		r := sub(p, box.Centre)
		x, y := dot(r, u), dot(r, v)
		if x*px > 0 {
			whole := min(2.5*math.Abs(x)/box.Length, 1) // the sides draw in evenly towards that end
			x -= px * whole * rim(far*(y-near)-half, half, math.Abs(py))
		}
		y = near + (y-near)*2*half/box.Width
		o[i] = add(box.Centre, add(mul(u, x), mul(v, y)))
	}
}

// rim is the height, over that of the top, of the point of a half round's far end that is seen at y from
// the axis: it lies at q with q + push·√(1 - (q/half)²) = y.
func rim(y, half, push float64) float64 {
	k := 1 + push*push/(half*half)
	q := (y - math.Sqrt(max(y*y-k*(y*y-push*push), 0))) / k
	return math.Sqrt(max(1-q*q/(half*half), 0))
}
