package calib

import (
	"errors"
	"math"
	"path/filepath"
	"testing"

	"gocv.io/x/gocv"

	"gristmark/calib/card"
	"gristmark/internal/result"
)

// boards reads the views of the 9 x 6 board with 25 mm squares in OpenCV's own photographs.
func boards(t *testing.T, pattern string) (views []View, names []string, width, height int) {
	t.Helper()
	dir := "/usr/share/doc/opencv-doc/examples/data"
	files, _ := filepath.Glob(filepath.Join(dir, pattern))
	if len(files) == 0 {
		if dir = photos(t, "chessboard"); dir == "" {
			return nil, nil, 0, 0
		}
		files, _ = filepath.Glob(filepath.Join(dir, pattern))
	}
	for _, f := range files {
		m := gocv.IMRead(f, gocv.IMReadColor)
		v, err := FindBoard(m, Board{9, 6, 25})
		width, height = m.Cols(), m.Rows()
		m.Close()
		if err != nil {
			t.Logf("%s: %v", filepath.Base(f), err)
			continue
		}
		views, names = append(views, v), append(names, filepath.Base(f))
	}
	return views, names, width, height
}

// OpenCV publishes what it found from its own 13 photographs (left_intrinsics.yml of its samples):
// focal length 535.916, centre 342.283, 235.571 (pixel centres whole), k1 -0.2664, mean error 0.39 px.
func TestCalibrateAgainstPublished(t *testing.T) {
	views, _, w, h := boards(t, "left[01]?.jpg")
	if w == 0 {
		return
	}
	if len(views) != 13 {
		t.Fatalf("%d of 13 boards found", len(views))
	}
	c, err := Calibrate(views, w, h)
	if err != nil {
		t.Fatal(err)
	}
	l := c.Lens
	if math.Abs(l.FocalPx-535.916) > 3 || math.Abs(l.CentreXPx-342.783) > 3 || math.Abs(l.CentreYPx-236.071) > 3 {
		t.Errorf("focal length %.2f, centre %.2f, %.2f", l.FocalPx, l.CentreXPx, l.CentreYPx)
	}
	if math.Abs(l.Distortion[0]+0.2664) > 0.03 || c.RMSPx > 0.45 {
		t.Errorf("k1 %.4f, error %.3f px", l.Distortion[0], c.RMSPx)
	}
}

// With the squares' pitch given, a plane fitted to every other corner predicts the others: distances
// among them are right to 0.3 %.
func TestHalfOfTheCornersPredictsTheRest(t *testing.T) {
	for _, side := range []string{"left", "right"} {
		views, names, w, h := boards(t, side+"[01]?.jpg")
		if w == 0 {
			return
		}
		c, err := Calibrate(views, w, h)
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range views {
			var fit, rest View
			for k := range v.MM {
				half := &fit
				if (k%9+k/9)%2 == 1 {
					half = &rest
				}
				half.MM, half.Px = append(half.MM, v.MM[k]), append(half.Px, v.Px[k])
			}
			p, err := PlaneOf(fit, w, h, c.Lens, "board")
			if err != nil {
				t.Errorf("%s: %v", names[i], err)
				continue
			}
			if e := meanDistanceError(p, rest); math.Abs(e) > 0.003 {
				t.Errorf("%s: distances off by %.2f %%", names[i], 100*e)
			}
		}
	}
}

// meanDistanceError is the mean relative error of the distances between all points of a view.
func meanDistanceError(p *Plane, v View) float64 {
	sum, n := 0.0, 0
	for i := range v.MM {
		for j := range i {
			sum += dist(p.ToMM(v.Px[i]), p.ToMM(v.Px[j]))/dist(v.MM[i], v.MM[j]) - 1
			n++
		}
	}
	return sum / float64(n)
}

// A drawn camera comes back from photos of the mat: focal length, centre and the card's true place.
func TestCalibrateFromMats(t *testing.T) {
	s := small()
	s.k1, s.off = -0.04, result.XY{6, -4}
	var views []View
	for i, pose := range [][3]float64{{0.5, 0, 0}, {0.5, 1.6, 0.1}, {0.5, 3.2, 1.6}, {0.4, 4.7, 0.4}, {0.2, 0.8, 3}, {0.45, 2.4, 2}} {
		s.tilt, s.azimuth, s.roll = pose[0], pose[1], pose[2]
		s.aim = result.XY{148, 105}
		s.heightMM, s.seed = 250, uint64(i)
		m := s.draw(t, sheetLayer(card.MatA4(), result.XY{}, 0))
		v, err := FindSheet(m)
		m.Close()
		if err != nil {
			t.Fatal(i, err)
		}
		truth := s.truth()
		var off []float64
		for k := range v.MM {
			off = append(off, dist(truth.toPx(v.MM[k]), v.Px[k]))
		}
		if m := median(off); m > 0.1 {
			t.Errorf("view %d: corners off by %.3f px", i, m)
		}
		views = append(views, v)
	}
	c, err := Calibrate(views, s.width, s.height)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(c.Lens.FocalPx/s.focal-1) > 0.01 {
		t.Errorf("focal length %.1f, drawn with %.1f", c.Lens.FocalPx, s.focal)
	}
	// The lens undistorts: a px far out comes to where a pinhole puts it.
	truth := s.truth()
	at := result.XY{1150, 60}
	want := truth.undistort(at)
	if got := c.Lens.ideal(at); dist(got, want) > 2 {
		t.Errorf("ideal px %.1f, want %.1f", got, want)
	}
	if back := c.Lens.real(c.Lens.ideal(at)); dist(back, at) > 1e-3 {
		t.Errorf("real(ideal) moves by %g px", dist(back, at))
	}
}

func TestCalibrateRefuses(t *testing.T) {
	s := small()
	var views []View
	v := s.truth()
	for range 6 { // six times the same view from straight above
		var w View
		for i := range 54 {
			mm := result.XY{float64(i%9) * 25, float64(i/9) * 25}
			w.MM, w.Px = append(w.MM, mm), append(w.Px, v.toPx(mm))
		}
		views = append(views, w)
	}
	if _, err := Calibrate(views[:3], s.width, s.height); !errors.Is(err, ErrUnconstrained) {
		t.Errorf("three views: %v", err)
	}
	if c, err := Calibrate(views, s.width, s.height); !errors.Is(err, ErrUnconstrained) {
		t.Errorf("six times one view: %+v %v", c, err)
	}
}
