package rulers

import (
	"math"
	"math/rand/v2"

	"gristmark/calib"
)

// What the drawn photos vary, and the distributions that calib's priors state.
const (
	printSD   = calib.PrintSD // of card and mat whose print nobody checked, relative
	checkSD   = calib.CheckSD // of a print that was checked
	gridSD    = 0.002         // of what a grid's maker calls its pitch
	frameSD   = 0.003         // of what a rectangle's maker calls its size
	exifShare = 0.6           // of photos whose EXIF tells the focal length
	bentShare = 0.15          // of lenses that bend by up to 6 %; of the others the s.d. is usualBend
	usualBend = 0.006         // of the displacement at half the diagonal over half the diagonal
)

// Size of a photo, px.
type Size struct{ W, H int }

// Small is the size of the photos that are drawn by the hundred: 2 megapixels; Large that of a phone's, 12.
var Small, Large = Size{1600, 1200}, Size{4032, 3024}

// at is the place in a photo at shares of its sides.
func (s Size) at(x, y float64) XY { return XY{x * float64(s.W), y * float64(s.H)} }

// draws gives the random parts of a scene.
type draws struct {
	*rand.Rand
	size Size
}

func newDraws(seed uint64, size Size) draws { return draws{rand.New(rand.NewPCG(seed, 17)), size} }

func (r draws) between(lo, hi float64) float64 { return lo + r.Float64()*(hi-lo) }

func (r draws) chance(p float64) bool { return r.Float64() < p }

// around is a length with its relative s.d.
func (r draws) around(sd float64) float64 { return 1 + sd*r.NormFloat64() }

func pick[T any](r draws, of ...T) T { return of[r.IntN(len(of))] }

// camera draws a camera over a point of the tray, and what EXIF tells of it.
func (r draws) camera(lowMM, highMM, maxTiltDeg, roll float64, aim XY) (camera, calib.Lens) {
	f35 := r.between(23, 29)
	w, h := r.size.W, r.size.H
	diagonal := math.Hypot(float64(w), float64(h))
	// Makers mean the diagonal or the longer side.
	focal := f35 * pick(r, diagonal/math.Hypot(36, 24), float64(w)/36)
	tilt := r.Float64() * maxTiltDeg * math.Pi / 180
	c := newCamera(w, h, focal, r.between(lowMM, highMM), tilt, r.between(0, 2*math.Pi), roll, aim)
	c.centre[0] += 0.003 * diagonal * r.NormFloat64()
	c.centre[1] += 0.003 * diagonal * r.NormFloat64()
	c.bend[0] = usualBend * r.NormFloat64()
	if r.chance(bentShare) {
		c.bend[0] = r.between(-0.06, 0.02)
	}
	c.bend[1] = c.bend[0] * 0.25 * r.NormFloat64()
	if r.chance(exifShare) {
		return c, calib.Lens{FocalPx: calib.Focal35(math.Round(f35), w, h)}
	}
	return c, calib.Lens{}
}

// photo draws light, focus, noise and JPEG.
func (r draws) photo(c camera) picture {
	return picture{
		cam: c, blur: r.between(0.4, 1.2), noise: r.between(1, 4), quality: 84 + r.IntN(12), seed: r.Uint64(),
		vignette: r.between(0, 0.3), slope: XY{r.between(-0.3, 0.3), r.between(-0.3, 0.3)},
	}
}

// trays in which photos are taken.
func (r draws) tray() surface {
	t := pick(r, rgb(40, 60, 90), rgb(60, 62, 60), rgb(30, 30, 34), rgb(120, 120, 118), rgb(70, 95, 70), rgb(160, 158, 150), rgb(110, 80, 55))
	return func(XY) (tint, bool) { return t, true }
}

// paper draws how a sheet lies: printed, of some thickness, in waves.
func (r draws) paper(c *camera, stretch, turn float64) lie {
	return lie{
		turn: turn, stretch: stretch, above: r.between(0.08, 0.3), wave: r.between(0, 0.15), length: r.between(60, 200),
		phase: XY{r.between(0, 6), r.between(0, 6)}, eye: c.eye,
	}
}
