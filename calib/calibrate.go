package calib

/*
#include "opencv.h"
*/
import "C"

import (
	"errors"
	"fmt"
	"math"
	"unsafe"

	"gocv.io/x/gocv"

	"gristmark/calib/card"
	"gristmark/internal/result"
)

// Board is a plain checkerboard.
type Board struct {
	Cols, Rows int     // inner corners along and across, >= 3, of which the sum is odd lest it look the same turned
	SquareMM   float64 // side of a square, mm
}

// View is what one photo shows of a plane of known points.
type View struct {
	MM, Px []result.XY // the same number of each; px of the photo, pixel centres at +0.5
}

// What the errors of views and Calibrate wrap.
var (
	ErrNoBoard       = errors.New("calib: no board found")
	ErrUnconstrained = errors.New("calib: the views do not fix the lens")
)

// FindBoard finds a checkerboard's inner corners in a photo.
func FindBoard(photo gocv.Mat, b Board) (View, error) {
	if b.Cols < 3 || b.Rows < 3 || !(b.SquareMM > 0) {
		return View{}, specError("a board of %d x %d corners with squares of %g mm: it takes 3 x 3 at least and a size", b.Cols, b.Rows, b.SquareMM)
	}
	p, err := newPicture(photo)
	if err != nil {
		return View{}, err
	}
	g, _, _, err := p.shrink(math.Inf(1))
	if err != nil {
		return View{}, err
	}
	xy := make([]C.float, 2*b.Cols*b.Rows)
	rc := C.gm_find_board((*C.uchar)(unsafe.Pointer(&g.pix[0])), C.int(g.width), C.int(g.height), C.int(b.Cols), C.int(b.Rows), &xy[0])
	switch {
	case rc < 0:
		return View{}, errOpenCV
	case rc == 0:
		return View{}, fmt.Errorf("%w: not all %d x %d inner corners show; keep the whole board in the photo, evenly lit", ErrNoBoard, b.Cols, b.Rows)
	}
	var v View
	for i := range b.Cols * b.Rows {
		v.MM = append(v.MM, result.XY{float64(i%b.Cols) * b.SquareMM, float64(i/b.Cols) * b.SquareMM})
		v.Px = append(v.Px, result.XY{float64(xy[2*i]) + 0.5, float64(xy[2*i+1]) + 0.5})
	}
	return v, nil
}

// Find is FindBoard for this board.
func (b Board) Find(photo gocv.Mat) (View, error) { return FindBoard(photo, b) }

// FindSheet finds the corners of the markers of a card or mat in a photo, as measured, not as a
// fitted view says.
func FindSheet(photo gocv.Mat) (View, error) {
	p, err := newPicture(photo)
	if err != nil {
		return View{}, err
	}
	markers, err := readMarkers(p)
	if err != nil {
		return View{}, err
	}
	var v View
	for _, sheet := range card.Sheets() {
		for _, s := range sightings(p, Lens{}, sheet, markers) {
			if w := s.corners(); len(w.MM) > len(v.MM) {
				v = w
			}
		}
	}
	if len(v.MM) < 8 {
		return v, noSheet(markers, []string{"card", "mat"})
	}
	return v, nil
}

// corners gives the measured corners: the view's, moved by what the two sides that meet there miss.
func (s *sighting) corners() View {
	type side struct {
		sum float64
		n   int
	}
	misses := make([][4]side, len(s.markers))
	for k := range s.obs {
		o := &s.obs[k]
		if o.dropped {
			continue
		}
		z := o.freeze(&s.fit.view)
		m := &misses[o.mark][sideOf(o.out)]
		m.sum += o.residual(&s.fit.view, z)[0]
		m.n++
	}
	var v View
	for i, m := range s.markers {
		for k, c := range m.Corners() {
			a, b := misses[i][(k+3)%4], misses[i][k] // the sides that end and begin here
			if a.n < 2 || b.n < 2 {
				continue
			}
			at := s.fit.toPx(c)
			na, nb := s.normal(c, (k+3)%4), s.normal(c, k)
			// Spread of ink and light is the same for all and no part of where the corner is.
			px, ok := meet(line{na, dot(na, at) + a.sum/float64(a.n)}, line{nb, dot(nb, at) + b.sum/float64(b.n)})
			if ok {
				v.MM, v.Px = append(v.MM, c), append(v.Px, px)
			}
		}
	}
	return v
}

// outward normals of a marker's sides, mm, in the order of its corners.
var outward = [4]result.XY{{0, -1}, {1, 0}, {0, 1}, {-1, 0}}

func sideOf(out result.XY) int {
	for k, n := range outward {
		if dot(n, out) > 0.5 {
			return k
		}
	}
	return 0
}

// normal is the outward normal of side k in the photo at a point of the plane.
func (s *sighting) normal(mm result.XY, k int) result.XY {
	dir := result.XY{-outward[k][1], outward[k][0]}
	a, b := s.fit.toPx(add(mm, dir, -0.1)), s.fit.toPx(add(mm, dir, 0.1))
	t := unit(sub(b, a))
	n := result.XY{-t[1], t[0]}
	if dot(n, sub(s.fit.toPx(add(mm, outward[k], 0.1)), s.fit.toPx(mm))) < 0 {
		n = result.XY{-n[0], -n[1]}
	}
	return n
}

// Calibration is a camera and its lens as found from several views.
type Calibration struct {
	WidthPx, HeightPx int
	Lens              Lens
	RMSPx             float64   // overall
	ViewRMSPx         []float64 // of each view
	Coverage          float64   // share of a 6 x 6 division of the frame that points fell in, 0..1
}

// Limits of what Calibrate accepts.
const (
	MinViews        = 5
	minCoverage     = 0.5
	maxFocalSD      = 0.02 // relative
	maxViewRMSShare = 0.002
)

// Calibrate finds focal length, centre and distortion from views of size width x height (OpenCV's
// calibrateCamera, Zhang 2000, one focal length for both axes). The error wraps ErrUnconstrained
// where there are too few views, they leave too much of the frame out, or they are too much alike.
func Calibrate(views []View, width, height int) (*Calibration, error) {
	if len(views) < MinViews {
		return nil, fmt.Errorf("%w: %d of the %d views needed; add photos from other sides", ErrUnconstrained, len(views), MinViews)
	}
	var mm, px []C.double
	counts := make([]C.int, len(views))
	for i, v := range views {
		counts[i] = C.int(len(v.MM))
		for k := range v.MM {
			mm = append(mm, C.double(v.MM[k][0]), C.double(v.MM[k][1]))
			px = append(px, C.double(v.Px[k][0]-0.5), C.double(v.Px[k][1]-0.5))
		}
	}
	var camera, sd [8]C.double
	rms := make([]C.double, len(views))
	e := float64(C.gm_calibrate(&mm[0], &px[0], &counts[0], C.int(len(views)), C.int(width), C.int(height), &camera[0], &sd[0], &rms[0]))
	if e < 0 || math.IsNaN(e) {
		return nil, fmt.Errorf("%w: no camera explains them", ErrUnconstrained)
	}
	out := &Calibration{WidthPx: width, HeightPx: height, RMSPx: e, Coverage: coverage(views, width, height)}
	for _, r := range rms {
		out.ViewRMSPx = append(out.ViewRMSPx, float64(r))
	}
	f := float64(camera[0])
	out.Lens = Lens{
		Profiled: true, FocalPx: f, FocalXPx: f, FocalYPx: f,
		CentreXPx: float64(camera[1]) + 0.5, CentreYPx: float64(camera[2]) + 0.5,
		FocalSD:          math.Max(0.002, float64(sd[0])/f),
		CentreOffsetSDPx: math.Max(1, math.Max(float64(sd[1]), float64(sd[2]))),
	}
	for i := range 5 {
		out.Lens.Distortion[i] = float64(camera[3+i])
	}
	return out, out.check()
}

// check refuses what the views do not carry.
func (c *Calibration) check() error {
	diagonal := math.Hypot(float64(c.WidthPx), float64(c.HeightPx))
	switch {
	case c.Coverage < minCoverage:
		return fmt.Errorf("%w: they cover %.0f %% of the frame (%.0f %% needed); add photos with the board in the corners", ErrUnconstrained, 100*c.Coverage, 100*minCoverage)
	case c.Lens.FocalSD > maxFocalSD:
		return fmt.Errorf("%w: the focal length is known to %.1f %% (%.0f %% needed); add photos with the board tilted by 20 to 40 degrees", ErrUnconstrained, 100*c.Lens.FocalSD, 100*maxFocalSD)
	case c.RMSPx > maxViewRMSShare*diagonal:
		return fmt.Errorf("%w: points miss by %.1f px; the board must be flat, and all photos of one camera at one zoom", ErrUnconstrained, c.RMSPx)
	}
	return nil
}

// coverage is the share of cells of the frame that some point fell in.
func coverage(views []View, width, height int) float64 {
	const n = 6
	var seen [n][n]bool
	for _, v := range views {
		for _, q := range v.Px {
			x, y := int(q[0]/float64(width)*n), int(q[1]/float64(height)*n)
			if x >= 0 && y >= 0 && x < n && y < n {
				seen[y][x] = true
			}
		}
	}
	count := 0
	for y := range n {
		for x := range n {
			if seen[y][x] {
				count++
			}
		}
	}
	return float64(count) / (n * n)
}

// PlaneOf fits the tray plane to a view of known points. from names the ruler in the plane's Scale.
func PlaneOf(v View, width, height int, lens Lens, from string) (*Plane, error) {
	pr := priors(lens, width, height)
	pairs := make([]pair, len(v.MM))
	obs := make([]observation, len(v.MM))
	for i := range v.MM {
		pairs[i] = pair{v.MM[i], lens.ideal(v.Px[i])}
		obs[i] = observation{px: pairs[i].px, mm: v.MM[i], sd: 0.1}
	}
	h, ok := homography(pairs)
	if !ok {
		return nil, doubtful("the points lie in line or are too few")
	}
	start, ok := startView(h, pr, width, height)
	if !ok {
		return nil, doubtful("the points are not those of a plane seen from in front")
	}
	f, ok := settle(start, obs, pr, 6, 1, finely)
	if !ok {
		return nil, doubtful("no camera explains the points")
	}
	out := finishPlane(picture{width: width, height: height}, f, lens, from, 1)
	for _, o := range obs {
		if o.dropped {
			out.scale.MarksDropped++
		} else {
			out.scale.MarksUsed++
		}
	}
	return out, nil
}
