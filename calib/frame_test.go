package calib

import (
	"errors"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"gocv.io/x/gocv"

	"gristmark/internal/result"
)

// drawing is a layer of w x h mm at 254 dpi, coloured by a function of mm from its top left corner.
func drawing(w, h float64, at result.XY, ink func(mm result.XY) color.NRGBA) layer {
	const dpi = 254
	img := image.NewNRGBA(image.Rect(0, 0, int(w*dpi/25.4), int(h*dpi/25.4)))
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			img.SetNRGBA(x, y, ink(result.XY{(float64(x) + 0.5) / dpi * 25.4, (float64(y) + 0.5) / dpi * 25.4}))
		}
	}
	return layer{img: img, dpi: dpi, at: at}
}

// framed is a sheet with a rectangle of w x h mm drawn on it, its middles of lines 15 mm inside the edge.
func framed(w, h, lineMM float64, paper, ink color.NRGBA) layer {
	const rim = 15
	return drawing(w+2*rim, h+2*rim, result.XY{-rim, -rim}, func(q result.XY) color.NRGBA {
		x, y := q[0]-rim, q[1]-rim
		onX := math.Min(math.Abs(x), math.Abs(x-w)) < lineMM/2 && y > -lineMM/2 && y < h+lineMM/2
		onY := math.Min(math.Abs(y), math.Abs(y-h)) < lineMM/2 && x > -lineMM/2 && x < w+lineMM/2
		if onX || onY {
			return ink
		}
		return paper
	})
}

func TestFrames(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 1))
	white, blue, grey := color.NRGBA{235, 235, 230, 255}, color.NRGBA{30, 40, 90, 255}, color.NRGBA{90, 90, 85, 255}
	plainSheet := drawing(210, 297, result.XY{}, func(result.XY) color.NRGBA { return white })
	darkSheet := drawing(210, 297, result.XY{}, func(result.XY) color.NRGBA { return grey })
	corner := func(q result.XY) bool { return q[0] < 50 && q[1] > 170 }
	straws := func(q result.XY) bool { return math.Mod(q[0]+900, 50) < 25 && math.Mod(q[0]*0.5+q[1]+900, 40) < 7 }
	for i, c := range []struct {
		layer layer
		w, h  float64
		tray  color.NRGBA
		cover func(result.XY) bool
	}{
		{framed(190, 254, 0.8, white, blue), 190, 254, grey, nil},
		{framed(190, 254, 0.8, white, blue), 190, 254, grey, corner},
		{framed(254, 190, 1.4, blue, white), 190, 254, grey, straws},
		{plainSheet, 210, 297, grey, nil},
		{plainSheet, 297, 210, grey, corner},
		{darkSheet, 210, 297, white, straws},
	} {
		s := small().shake(r, 20, 0)
		s.aim = result.XY{c.w / 2, c.h / 2}
		if b := c.layer.img.Rect; b.Dx() > b.Dy() != (c.w > c.h) {
			s.aim = result.XY{c.h / 2, c.w / 2}
		}
		s.heightMM, s.tray, s.cover, s.k1 = 430, c.tray, c.cover, -0.01
		m := s.draw(t, c.layer)
		p, err := Find(m, Spec{Kind: Frame, WidthMM: c.w, HeightMM: c.h}, Lens{})
		m.Close()
		if err != nil {
			t.Errorf("frame %d: %v", i, err)
			continue
		}
		if e := s.scaleError(p); math.Abs(e) > 0.006 || math.Abs(e) > 3.5*p.Scale().RelativeSD {
			t.Errorf("frame %d: scale off by %.2f %%: %+v", i, 100*e, p.Scale())
		}
		if len(p.Field()) == 0 || len(p.Exclude()) != 4 || p.Scale().From != "frame" {
			t.Errorf("frame %d: field %d, exclude %d, %+v", i, len(p.Field()), len(p.Exclude()), p.Scale())
		}
	}
}

func TestNoFalseFrame(t *testing.T) {
	patterns := map[string]func(result.XY) bool{
		"nothing": nil,
		"straws":  func(q result.XY) bool { return math.Mod(q[0]+q[1]*0.7+900, 23) < 5 },
		"planks":  func(q result.XY) bool { return math.Mod(q[0]+1000, 60) < 3 },
	}
	for name, cover := range patterns {
		s := tiny()
		s.cover = cover
		m := s.draw(t)
		_, err := Find(m, Spec{Kind: Frame, WidthMM: 190, HeightMM: 254}, Lens{})
		m.Close()
		if !errors.Is(err, ErrNoRuler) && !errors.Is(err, ErrDoubtful) {
			t.Errorf("%s: %v", name, err)
		}
	}
	// A rectangle of another shape is not taken for it.
	s := small()
	s.heightMM, s.aim = 430, result.XY{90, 90}
	m := s.draw(t, framed(180, 180, 0.8, color.NRGBA{235, 235, 230, 255}, color.NRGBA{30, 40, 90, 255}))
	defer m.Close()
	if p, err := Find(m, Spec{Kind: Frame, WidthMM: 190, HeightMM: 254}, Lens{}); err == nil {
		t.Errorf("a square passed for 190 x 254: %+v", p.Scale())
	}
}

// photos is the folder of photographs by others, beside the checkout; empty where it is not.
func photos(t *testing.T, name string) string {
	dir := filepath.Join("..", "..", "shared", "photos", name)
	if _, err := os.Stat(dir); err == nil {
		return dir
	}
	if os.Getenv("GRISTMARK_PHOTOS") == "required" {
		t.Fatalf("photographs %s are missing", dir)
	}
	t.Logf("photographs %s are not here: not tried", dir)
	return ""
}

// The printed frame round photographed beans is 190.5 x 254.0 mm, at 100 % print.
func TestFrameOnPhotographs(t *testing.T) {
	dir := photos(t, "beans-on-letter")
	if dir == "" {
		return
	}
	files, _ := filepath.Glob(filepath.Join(dir, "*.jpg"))
	if len(files) != 3 {
		t.Fatalf("%d photographs", len(files))
	}
	for _, f := range files {
		m := gocv.IMRead(f, gocv.IMReadColor)
		p, err := Find(m, Spec{Kind: Frame, WidthMM: 190.5, HeightMM: 254}, Lens{})
		m.Close()
		if err != nil {
			t.Errorf("%s: %v", filepath.Base(f), err)
			continue
		}
		// By eye on prints of the photographs: px between the long sides at half height, to 10 px. The scale
		// at the middle may differ from the mean across by the lens's bend.
		want := 190.5 / map[string]float64{"IMG_8897.jpg": 2769, "IMG_9507.jpg": 2847, "IMG_9508.jpg": 2887}[filepath.Base(f)]
		if q := p.Scale().MMPerPx / want; math.Abs(q-1) > 0.02 {
			t.Errorf("%s: %.4f mm per px, by eye %.4f", filepath.Base(f), p.Scale().MMPerPx, want)
		}
		if s := p.Scale(); s.ResidualPx > 3 || s.MarksUsed != 4 {
			t.Errorf("%s: %+v", filepath.Base(f), s)
		}
	}
}

// Outlines of a checkerboard, and of any of its parts, are no frame, whatever focal length they would take.
func TestNoFrameInACheckerboard(t *testing.T) {
	r := rand.New(rand.NewPCG(22, 1))
	for i := range 4 {
		square := 18 + 4*float64(i)
		board := drawing(220, 280, result.XY{}, func(q result.XY) color.NRGBA {
			x, y := math.Floor((q[0]-10)/square), math.Floor((q[1]-10)/square)
			if x < 0 || y < 0 || (x+1)*square > 200 || (y+1)*square > 260 || math.Mod(x+y, 2) == 1 {
				return color.NRGBA{235, 235, 230, 255}
			}
			return color.NRGBA{30, 30, 30, 255}
		})
		s := small().shake(r, 20, 0)
		s.heightMM, s.aim = 430, result.XY{110, 140}
		m := s.draw(t, board)
		for _, size := range [][2]float64{{190, 254}, {180, 252}} {
			p, err := Find(m, Spec{Kind: Frame, WidthMM: size[0], HeightMM: size[1]}, Lens{})
			if err == nil {
				t.Errorf("squares of %g mm passed for a frame of %v: %+v", square, size, p.Scale())
			} else if !errors.Is(err, ErrNoRuler) && !errors.Is(err, ErrDoubtful) {
				t.Errorf("squares of %g mm: %v", square, err)
			}
		}
		m.Close()
	}
}

// Boards photographed at an angle are no frame either, though lines of theirs and an edge of the paper make rectangles.
func TestNoFrameInPhotographedBoards(t *testing.T) {
	for name, size := range map[string][2]float64{"markers/choriginal.jpg": {200, 280}, "chessboard/left01.jpg": {20, 30}} {
		dir := photos(t, filepath.Dir(name))
		if dir == "" {
			return
		}
		m := gocv.IMRead(filepath.Join(dir, filepath.Base(name)), gocv.IMReadColor)
		p, err := Find(m, Spec{Kind: Frame, WidthMM: size[0], HeightMM: size[1]}, Lens{})
		m.Close()
		if err == nil {
			t.Errorf("%s passed for a frame of %v: %+v", name, size, p.Scale())
		} else if !errors.Is(err, ErrNoRuler) && !errors.Is(err, ErrDoubtful) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
