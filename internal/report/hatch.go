package report

import (
	"image/color"
	"math"
	"slices"

	"gristmark/internal/result"
)

// hatchStyle is for parts of the photo where pieces could not be told from the tray.
var hatchStyle = style{"too like the tray to tell", color.NRGBA{0xe6, 0x00, 0x26, 255}, 0.8, []float64{4, 3}}

// hatched are the parts of the photo that its checks speak of.
func hatched(p result.Photo) (regions [][]result.XY) {
	for _, c := range p.Checks {
		regions = append(regions, c.RegionsPx...)
	}
	return regions
}

// drawHatched outlines the regions and fills them with oblique lines, so that what lies under them stays in view.
func (c canvas) drawHatched(regions [][]result.XY) {
	spacing := 7 * c.stroke
	for _, region := range regions {
		o := make([]result.XY, len(region))
		for i, p := range region {
			o[i] = result.XY{p[0] * c.scale, p[1] * c.scale}
		}
		for _, s := range hatch(o, spacing) {
			c.MoveTo(s[0][0], s[0][1])
			c.LineTo(s[1][0], s[1][1])
		}
		c.SetDash()
		c.SetColor(hatchStyle.color)
		c.SetLineWidth(0.6 * c.stroke)
		c.Stroke()
		c.path(region)
		c.ClosePath()
		c.cased(hatchStyle)
	}
}

// hatch are the pieces within the outline of the lines x + y = k spacing, for every whole k.
func hatch(outline []result.XY, spacing float64) (pieces [][2]result.XY) {
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range outline {
		low, high = math.Min(low, p[0]+p[1]), math.Max(high, p[0]+p[1])
	}
	for k := math.Ceil(low / spacing); k*spacing <= high; k++ {
		sum := k * spacing
		var at []float64 // x where the line meets the outline
		for i, p := range outline {
			q := outline[(i+1)%len(outline)]
			a, b := p[0]+p[1]-sum, q[0]+q[1]-sum
			if (a < 0) != (b < 0) {
				at = append(at, p[0]+(q[0]-p[0])*a/(a-b))
			}
		}
		slices.Sort(at)
		for i := 0; i+1 < len(at); i += 2 {
			pieces = append(pieces, [2]result.XY{{at[i], sum - at[i]}, {at[i+1], sum - at[i+1]}})
		}
	}
	return pieces
}
