package shape

import (
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// regionprops prints what scikit-image measures on each mask: raw bytes, named with its size.
const regionprops = `
import json, sys
try:
    import numpy, skimage.measure
except ImportError as e:
    sys.exit("scikit-image is missing (%s): install Debian's python3-skimage, as make test does" % e)
out = []
for path, w, h in json.load(open(sys.argv[1])):
    mask = numpy.fromfile(path, numpy.uint8).reshape(h, w) > 0
    p = skimage.measure.regionprops(mask.astype(int))[0]
    c = max(skimage.measure.find_contours(numpy.pad(mask, 1).astype(float), 0.5), key=len)
    contour = numpy.sqrt((numpy.diff(c, axis=0)**2).sum(1)).sum()
    out.append(dict(contour=float(contour), area=float(p.area), feret=float(p.feret_diameter_max), solidity=float(p.solidity),
        perimeter=float(p.perimeter), crofton=float(p.perimeter_crofton),
        major=float(p.major_axis_length), minor=float(p.minor_axis_length)))
print(json.dumps(out))
`

type props struct {
	Area, Feret, Solidity, Perimeter, Crofton, Contour, Major, Minor float64
}

// scikit runs scikit-image on the masks.
func scikit(t *testing.T, masks [][]uint8, sizes [][2]int) (out []props) {
	t.Helper()
	dir := t.TempDir()
	var list [][3]any
	for i, m := range masks {
		path := filepath.Join(dir, string(rune('a'+i)))
		if err := os.WriteFile(path, m, 0o600); err != nil {
			t.Fatal(err)
		}
		list = append(list, [3]any{path, sizes[i][0], sizes[i][1]})
	}
	index, _ := json.Marshal(list)
	at := filepath.Join(dir, "index.json")
	if err := os.WriteFile(at, index, 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("/usr/bin/python3", "-c", regionprops, at)
	text, err := cmd.Output()
	if err != nil {
		said := ""
		if e, ok := err.(*exec.ExitError); ok {
			said = string(e.Stderr)
		}
		t.Fatalf("comparing with scikit-image: install Debian's python3-skimage, as make test does: %v %s", err, said)
	}
	if err := json.Unmarshal(text, &out); err != nil || len(out) != len(masks) {
		t.Fatalf("scikit-image printed %q: %v", text, err)
	}
	return out
}

// The same masks of 0 and 255 through scikit-image. The raw outline is find_contours' own, to rounding. For
// the rest definitions differ, and so do the tolerances: regionprops counts pixels where we take the area
// within the outline (an eighth of a pixel less at each outer corner of the steps: 0.4 %), and takes the
// hull of whole pixels (Feret ± 1 px, solidity ± 0.015). Its perimeter adds up a 4-connected border by
// steps of 1, √2 and their mean (Benkrid & Crookes 2000) and exceeds the length of straight slanted edges
// by up to 8 %; perimeter_crofton counts crossings in four directions and falls short of upright rectangles
// by 5 %. Ours, of the smoothed outline, must lie 9 % below to 1 % above the one and within 6 % of the other,
// and within 1 % and 3 px, for rounded corners, of the truth.
func TestAgainstScikitImage(t *testing.T) {
	blob := func(n int, lobes, depth float64) (o []XY) {
		for i := range n {
			a := 2 * math.Pi * float64(i) / float64(n)
			s, c := math.Sincos(a)
			r := 1 + depth*math.Cos(lobes*a)
			o = append(o, XY{r * c, r * s})
		}
		return o
	}
	shapes := []struct {
		name  string
		o     []XY
		scale float64
	}{ // outlines are exact, so their own perimeter is the truth
		{"disc", ellipse(2, 2, 400), 30}, {"large disc", ellipse(2, 2, 400), 90},
		{"ellipse", turned(ellipse(12, 8, 400), 0.4), 10}, {"rectangle", turned(rectangle(20, 5), 0.3), 8},
		{"upright rectangle", rectangle(20, 5), 8}, {"square", turned(rectangle(10, 10), 0.8), 10},
		{"less a corner", turned(lessCorner(), 0.5), 25}, {"bent leaf", strip(arc(15, 30), 4, 0.3), 8},
		{"lobed", blob(400, 3, 0.25), 50}, {"ragged", blob(400, 9, 0.12), 60}, {"straw", turned(rectangle(40, 2), 0.9), 5},
		{"fork", turned(fork(), 2.2), 8},
	}
	var masks [][]uint8
	var sizes [][2]int
	for _, s := range shapes {
		lo, hi := Bounds(s.o)
		w, h := int((hi[0]-lo[0])*s.scale)+7, int((hi[1]-lo[1])*s.scale)+7
		m := Rasterise([][]XY{moved(s.o, 0, s.scale, XY{3.3 - lo[0]*s.scale, 3.6 - lo[1]*s.scale})}, w, h)
		for i, v := range m {
			m[i] = 255 * (v >> 7)
		}
		masks, sizes = append(masks, m), append(sizes, [2]int{w, h})
	}
	for i, want := range scikit(t, masks, sizes) {
		o := FromMask(masks[i], sizes[i][0], sizes[i][1], 0.5)[0].Points
		s, e := Measure(o), EllipseOf(o)
		perimeter := Perimeter(Smooth(o, PerimeterSigma))
		for _, v := range []struct {
			what           string
			got, want, tol float64
		}{
			{"area", s.Area, want.Area, 0.004 * want.Area}, {"largest Feret", s.MaxFeret.Length, want.Feret, 1},
			{"solidity", s.Solidity, want.Solidity, 0.015}, {"raw outline", s.Perimeter, want.Contour, 1e-6 * want.Contour},
			{"perimeter", perimeter, 0.96 * want.Perimeter, 0.05 * want.Perimeter}, {"Crofton perimeter", perimeter, want.Crofton, 0.06 * want.Crofton},
			{"true perimeter", perimeter, Perimeter(shapes[i].o) * shapes[i].scale, 0.01*perimeter + 3},
			{"major axis", e.Major, want.Major, 0.005 * want.Major}, {"minor axis", e.Minor, want.Minor, 0.005*want.Minor + 0.1},
		} {
			if math.Abs(v.got-v.want) > v.tol {
				t.Errorf("%s: %s %.4f, scikit-image %.4f, tolerance %.4f", shapes[i].name, v.what, v.got, v.want, v.tol)
			}
		}
	}
}
