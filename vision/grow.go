package vision

// Lengths of the steps to a neighbour, a diagonal one and a knight's move, in parts of fullStep, whose least sum is the distance between two cells: those of distanceTo
// (Borgefors 1986, Comput. Vis. Graph. Image Process. 34:344), as OpenCV rounds them.
const (
	fullStep     = 1 << 16
	diagonalStep = 91750
	knightStep   = 143976
)

// stepsTo is the distance to the cell dx, dy off, in cells; both are 0 or more.
func stepsTo(dx, dy int) float64 {
	long, short := max(dx, dy), min(dx, dy)
	if long >= 2*short {
		return float64((long-2*short)*fullStep+short*knightStep) / fullStep
	}
	return float64((2*short-long)*diagonalStep+(long-short)*knightStep) / fullStep
}

// discOf lists how far a disc of r cells reaches to either side in the row of its centre, the row beyond, and so on.
func discOf(r float64) (halfWidths []int) {
	for dy := 0; stepsTo(0, dy) <= r; dy++ {
		dx := 0
		for stepsTo(dx+1, dy) <= r {
			dx++
		}
		halfWidths = append(halfWidths, dx)
	}
	return halfWidths
}

// growBy dilates, shrinkBy erodes, by r cells, distances as in distanceTo. Beyond the picture counts as outside for
// growing and as inside for shrinking, so that closing does not eat the border.
func growBy(mask []bool, w, h int, r float64) []bool { return grown(mask, w, h, r, true) }

func shrinkBy(mask []bool, w, h int, r float64) []bool { return grown(mask, w, h, r, false) }

// grown marks the cells within r of one that equals target, with target. 64 cells of a row are looked at at once.
func grown(mask []bool, w, h int, r float64, target bool) []bool {
	disc := discOf(r)
	words := (w + 63) / 64
	all, row := make([]uint64, words*h), make([]uint64, words)
	for y := range h {
		if !pack(row, mask[y*w:(y+1)*w], target) {
			continue
		}
		wide := 0
		for dy := len(disc) - 1; dy >= 0; dy-- { // from the disc's ends, where it is narrow
			for ; wide < disc[dy]; wide++ {
				widen(row)
			}
			if y-dy >= 0 {
				merge(all[(y-dy)*words:], row)
			}
			if y+dy < h {
				merge(all[(y+dy)*words:], row)
			}
		}
	}
	out := make([]bool, len(mask))
	for y := range h {
		unpack(out[y*w:(y+1)*w], all[y*words:], target)
	}
	return out
}

// pack sets the bits of the cells that equal target, and tells whether there is one.
func pack(bits []uint64, cells []bool, target bool) (any bool) {
	for i := range bits {
		var b uint64
		for x, c := range cells[64*i : min(64*i+64, len(cells))] {
			var is uint64
			if c == target {
				is = 1
			}
			b |= is << x
		}
		bits[i], any = b, any || b != 0
	}
	return any
}

// unpack gives the cells whose bits are set the value target, and the others the opposite.
func unpack(cells []bool, bits []uint64, target bool) {
	for x := range cells {
		if x%64 == 0 && x > 0 {
			bits = bits[1:]
		}
		cells[x] = (bits[0]>>(x%64)&1 != 0) == target
	}
}

// widen sets the neighbours of each bit in its row.
func widen(row []uint64) {
	before := uint64(0)
	for i, b := range row {
		after := uint64(0)
		if i+1 < len(row) {
			after = row[i+1]
		}
		row[i] = b | b<<1 | b>>1 | before>>63 | after<<63
		before = b
	}
}

func merge(to, row []uint64) {
	for i, b := range row {
		to[i] |= b
	}
}
