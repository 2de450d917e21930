package scene

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"image/jpeg"
	"math"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"testing"

	"gristmark/internal/result"
)

// The lot's size decides how exactly lot numbers are known, and most of the time; the tests need no exact ones.
func TestMain(m *testing.M) {
	lotSize = 600
	os.Exit(m.Run())
}

// small is a family at a width that renders quickly.
func small(t *testing.T, name string) Settings {
	t.Helper()
	f, ok := FamilyNamed(name)
	if !ok {
		t.Fatalf("no family %q", name)
	}
	s := f.Settings.Resized(900)
	s.VaryLot = false
	return s
}

func hashOf(t *testing.T, s Settings, seed uint64) [32]byte {
	t.Helper()
	img, truth := Render(s, seed)
	data, err := json.Marshal(truth)
	if err != nil {
		t.Fatal(err)
	}
	return sha256.Sum256(append(append([]byte(nil), img.Pix...), data...))
}

func TestSameSeedSamePixels(t *testing.T) {
	s := small(t, "mixed")
	s.Extras = Extras{Hairs: Range{1, 1}, Crumbs: Range{5, 5}, Drops: Range{5, 5}, Pen: Range{1, 1}}
	was := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(was)
	a := hashOf(t, s, 5)
	runtime.GOMAXPROCS(3)
	if hashOf(t, s, 5) != a {
		t.Error("pixels or truth depend on the number of processors")
	}
	if hashOf(t, s, 6) == a {
		t.Error("two seeds gave one picture")
	}
}

// A kernel's silhouette is its outline carried to half its thickness, seen from the camera: area × (H/(H-t/2))² on the plane.
// Kernels that lie flat, within 12° of straight below; 2.5 % allows for their rounded sides seen at that angle and the sampled edge.
func TestSilhouettesMatchTheOutlines(t *testing.T) {
	s := small(t, "kernels-unbroken")
	s.Camera.TiltDeg, s.Camera.BarrelPct, s.Lot.NickShare = Range{0, 0}, Range{0, 0}, 0
	s.Place.Kernels = Range{45, 45}
	p := Scene{Settings: s, Seed: 3}.Draw()
	n := 0
	for _, th := range p.Truth.Things {
		h := p.Truth.Camera.HeightMM
		if th.CutByEdge || th.Class != result.WholeKernel || th.ThicknessMM > 6 || dist(Centroid(th.OutlineMM), p.Truth.Camera.FootMM) > 0.22*h {
			continue
		}
		n++
		k := p.Truth.MMPerPx * (h - th.ThicknessMM/2) / h
		got := Area(th.OutlinePx) * k * k
		if math.Abs(got/th.AreaMM2-1) > 0.025 {
			t.Errorf("kernel %d: silhouette says %.2f mm², outline %.2f mm²", th.ID, got, th.AreaMM2)
		}
		if a := Area(th.OutlineMM); math.Abs(a/th.AreaMM2-1) > 0.005 {
			t.Errorf("kernel %d: thinned outline has %.2f mm², truth %.2f mm²", th.ID, a, th.AreaMM2)
		}
		if d := dist(Centroid(th.OutlinePx), th.AtPx); d > 0.2 {
			t.Errorf("kernel %d: at_px is %.2f px off the outline's centroid", th.ID, d)
		}
		largest, smallest, _ := ferets(th.OutlineMM)
		if math.Abs(largest-th.LengthMM) > 0.02 || math.Abs(smallest-th.WidthMM) > 0.02 {
			t.Errorf("kernel %d: %.2f × %.2f mm, truth %.2f × %.2f", th.ID, largest, smallest, th.LengthMM, th.WidthMM)
		}
	}
	if n < 6 {
		t.Fatalf("only %d kernels below the camera", n)
	}
}

func TestNumbersAddUp(t *testing.T) {
	_, truth := Render(small(t, "mixed"), 9)
	for name, n := range map[string]Numbers{"scene": truth.Scene, "lot": truth.Lot} {
		if n.Kernels == nil || n.Pieces == nil {
			t.Fatalf("%s: numbers are missing", name)
		}
		for what, shares := range map[string]map[string]float64{"length classes": n.Pieces.LengthClassesPct, "box": n.Pieces.BoxPct} {
			sum := 0.0
			for _, v := range shares {
				sum += v
			}
			if math.Abs(sum-100) > 1e-9 || len(shares) != 4 {
				t.Errorf("%s: %s sum to %g over %d shares", name, what, sum, len(shares))
			}
		}
	}
	for _, th := range truth.Things {
		if th.Class.IsKernel() != (th.KernelShare != nil) || (th.Box == "") != th.Class.IsKernel() {
			t.Errorf("thing %d (%s): share %v, box %q", th.ID, th.Class, th.KernelShare, th.Box)
		}
		if th.Class == result.WholeKernel && *th.KeptShare < 0.95 || th.Class == result.BrokenKernel && *th.KeptShare >= 0.95 {
			t.Errorf("thing %d is called %s with %.3f kept", th.ID, th.Class, *th.KeptShare)
		}
		if th.Class == result.Stover && math.Abs(th.LengthMM*th.WidthMM-th.AreaMM2) > 0.01*th.AreaMM2+0.05 {
			t.Errorf("thing %d: length × width is not the area", th.ID)
		}
	}
}

// The lot's kernels keep to the published size, Sezer et al. (Afr. J. Biotechnol.), and area, 53-73 mm² (Darfour 2022,
// Int. J. Food Prop.), and a mass of 0.19-0.44 g (US maize quality report 2016/17).
func TestUnbrokenKernelsLookLikeDent(t *testing.T) {
	lot := DefaultLot()
	if a := meanUnbroken(&lot); a < 53 || a > 73 {
		t.Errorf("mean area %.1f mm²", a)
	}
	lot.WholeShare, lot.NickShare = 1, 0
	g := stream(4, 4)
	mass := 0.0
	for i := 0; i < 300; i++ {
		mass += newKernelPiece(&lot, 60, g).mass / 300
	}
	if mass < 190 || mass > 440 {
		t.Errorf("mean mass %.0f mg", mass)
	}
}

func TestMarkersLieWhereTheyAreDrawn(t *testing.T) {
	for _, name := range []string{"kernels-apart", "mat-a4", "tilted", "barrel"} {
		s := small(t, name).Resized(1300)
		s.Photo.DefocusPx, s.Photo.Noise, s.Photo.MotionPx = Range{0, 0}, Range{0, 0}, Range{0, 0}
		s.Place.Kernels, s.Place.Pieces = Range{0, 0}, Range{0, 0}
		img, truth := Render(s, 2)
		seen := 0
		for _, m := range truth.Sheet.Markers {
			c := m.CornersPx
			mid := scale(add(c[0], c[2]), 0.5)
			for _, q := range c {
				in, out := add(mid, scale(sub(q, mid), 0.93)), add(mid, scale(sub(q, mid), 1.07))
				if out[0] < 2 || out[1] < 2 || out[0] > 1298 || out[1] > 973 {
					continue
				}
				seen++
				dark, light := img.NRGBAAt(int(in[0]), int(in[1])).G, img.NRGBAAt(int(out[0]), int(out[1])).G
				if float64(dark) > 0.75*float64(light) {
					t.Errorf("%s: marker %d: %d inside the corner, %d outside", name, m.ID, dark, light)
				}
			}
		}
		if seen < 20 {
			t.Errorf("%s: only %d corners in view", name, seen)
		}
	}
}

func TestEveryFamilyHasItsOwnSeeds(t *testing.T) {
	names, seeds := map[string]bool{}, map[uint64]string{}
	for _, f := range Families() {
		if names[f.Name] || f.About == "" {
			t.Errorf("family %q is named twice or says nothing about itself", f.Name)
		}
		names[f.Name] = true
		for _, s := range append(f.TuningSeeds(100), f.ReportingSeeds(100)...) {
			if was, ok := seeds[s]; ok {
				t.Fatalf("seed %d belongs to %s and %s", s, was, f.Name)
			}
			seeds[s] = f.Name
		}
	}
	if len(names) < 30 {
		t.Errorf("%d families", len(names))
	}
}

func TestSettingsSurviveJSON(t *testing.T) {
	for _, f := range Families() {
		data, err := json.Marshal(f.Settings)
		if err != nil {
			t.Fatal(err)
		}
		var back Settings
		if err := json.Unmarshal(data, &back); err != nil {
			t.Fatal(err)
		}
		again, _ := json.Marshal(back)
		if !bytes.Equal(data, again) {
			t.Errorf("%s: settings change on the way through JSON", f.Name)
		}
	}
}

func TestStoredOrientationTurnsThePixels(t *testing.T) {
	s := small(t, "kernels-unbroken").Resized(320)
	p := Scene{Settings: s, Seed: 1}.Draw()
	for o, wide := range map[int]bool{1: true, 3: true, 6: false, 8: false} {
		c := p.DefaultCapture()
		c.Orientation = o
		data, err := p.JPEG(c)
		if err != nil {
			t.Fatal(err)
		}
		cfg, err := jpeg.DecodeConfig(bytes.NewReader(data))
		if err != nil || (cfg.Width > cfg.Height) != wide {
			t.Errorf("orientation %d: %d × %d, %v", o, cfg.Width, cfg.Height, err)
		}
		if !bytes.Contains(data[:200], []byte("Exif\x00\x00MM\x00*")) {
			t.Errorf("orientation %d: no EXIF", o)
		}
	}
	// 6: the camera's left edge is the upright bottom... the stored top right pixel is the upright bottom right's neighbour.
	a := stored(p.Image, 6)
	if a.NRGBAAt(0, 0) != p.Image.NRGBAAt(p.Image.Rect.Dx()-1, 0) {
		t.Error("orientation 6: the first stored pixel is not the upright top right one")
	}
}

func TestKnowsNoDetector(t *testing.T) {
	out, err := exec.Command("go", "list", "-deps", "gristmark/internal/scene").CombinedOutput()
	if err != nil {
		t.Fatalf("go list: %v: %s", err, out)
	}
	for _, line := range strings.Fields(string(out)) {
		if line == "gristmark/calib" || strings.HasPrefix(line, "gristmark/vision") || strings.HasPrefix(line, "gocv.io") {
			t.Errorf("the renderer depends on %s", line)
		}
	}
}

// Seen from straight above, solids cover their outlines: the thin rim too, and not more. 0.3 % of all allows for the grid that samples them.
func TestSolidsReachTheirOutlines(t *testing.T) {
	lot, g := small(t, "mixed").Lot, stream(7, streamPieces)
	mean := meanUnbroken(&lot)
	const step = 0.04
	var covered, area [2]float64
	for i := range 80 {
		p := newKernelPiece(&lot, mean, g)
		if i%2 == 1 {
			p = newStover(&lot, g)
		}
		p.shape(&lot, 0)
		area[i%2] += p.area
		lo, hi := bounds(p.outline)
		for y := lo[1]; y <= hi[1]; y += step {
			for x := lo[0]; x <= hi[0]; x += step {
				if _, hit := p.solid.cast(XY{x, y}, XY{}); hit {
					covered[i%2] += step * step
				}
			}
		}
	}
	for i, kind := range []string{"kernels", "stover"} {
		if off := covered[i]/area[i] - 1; math.Abs(off) > 0.003 {
			t.Errorf("%s: %+.2f %% covered", kind, 100*off)
		}
	}
}
