package shape

// clip cuts the outline to the box from the origin to (w, h), side by side (Sutherland & Hodgman 1974,
// Commun. ACM 17:32). Where the outline leaves and comes back, pieces stay joined along the border, which
// changes no area.
func clip(o []XY, w, h float64) []XY {
	lo, hi := Bounds(o)
	if lo[0] >= 0 && lo[1] >= 0 && hi[0] <= w && hi[1] <= h {
		return o
	}
	for axis, limit := range [2]float64{w, h} {
		o = cut(o, axis, 0, 1)
		o = cut(o, axis, limit, -1)
	}
	return o
}

// cut keeps what has side*(p[axis]-limit) >= 0.
func cut(o []XY, axis int, limit, side float64) []XY {
	var out []XY
	for i, q := range o {
		p := o[(i+len(o)-1)%len(o)]
		a, b := side*(p[axis]-limit), side*(q[axis]-limit)
		if (a >= 0) != (b >= 0) {
			m := lerp(p, q, a/(a-b))
			m[axis] = limit
			out = append(out, m)
		}
		if b >= 0 {
			out = append(out, q)
		}
	}
	return out
}
