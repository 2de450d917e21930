package card

import (
	"bytes"
	"encoding/xml"
	"image/png"
	"io"
	"math"
	"testing"
)

func TestIDsAreUniqueAndInTheirSheetsRange(t *testing.T) {
	ranges := map[string][2]int{"card": {0, 9}, "mat-a4": {10, 49}, "mat-a3": {50, 99}}
	seen := map[int]string{}
	for _, s := range Sheets() {
		for _, m := range s.Markers {
			if r := ranges[s.Name]; m.ID < r[0] || m.ID > r[1] {
				t.Errorf("%s: id %d outside %v", s.Name, m.ID, r)
			}
			if other, ok := seen[m.ID]; ok {
				t.Errorf("id %d on %s and on %s", m.ID, other, s.Name)
			}
			seen[m.ID] = s.Name
		}
	}
}

// Every marker needs a quiet zone of one cell: paper on all sides, which nothing else touches.
func TestQuietZones(t *testing.T) {
	const dpi = 254 // ten px per mm
	for _, s := range Sheets() {
		img := s.Raster(dpi)
		for _, m := range s.Markers {
			quiet := min(m.CellMM(), m.X, m.Y, s.WidthMM-m.X-m.SizeMM)
			if quiet < 0.97*m.CellMM() {
				t.Errorf("%s marker %d: %.2f mm of paper beside it, a cell is %.2f mm", s.Name, m.ID, quiet, m.CellMM())
			}
			x0, x1 := int(10*m.X)-1, int(10*(m.X+m.SizeMM))+1
			y0, y1 := int(10*m.Y)-1, int(10*(m.Y+m.SizeMM))+1
			for d := range int(10*quiet) - 1 {
				for x := x0 - d; x < x1+d; x++ {
					for _, y := range []int{y0 - d, y1 + d} {
						if c := img.NRGBAAt(x, y); y >= 0 && y < img.Rect.Max.Y && x >= 0 && x < img.Rect.Max.X && c != paper {
							t.Fatalf("%s marker %d: %v at %d, %d, %d px from it", s.Name, m.ID, c, x, y, d)
						}
					}
				}
			}
		}
	}
}

func TestRasterHasTrueSize(t *testing.T) {
	for _, dpi := range []float64{72, 150, 300, 601} {
		for _, s := range Sheets() {
			b := s.Raster(min(dpi, 200)).Bounds()
			if dpi > 200 && s.Name == "card" {
				b = s.Raster(dpi).Bounds()
			} else {
				dpi = min(dpi, 200)
			}
			if w := float64(b.Dx()) / dpi * 25.4; math.Abs(w-s.WidthMM) > 0.5/dpi*25.4+1e-9 {
				t.Errorf("%s at %g dpi is %g mm wide", s.Name, dpi, w)
			}
		}
	}
}

// An edge that falls inside a pixel darkens it by the covered area of light.
func TestRasterMixesInLinearLight(t *testing.T) {
	s := Sheet{WidthMM: 2, HeightMM: 1, Markers: nil, details: func(Sheet) []Shape { return []Shape{rect(0.5, 0, 1, 1, black)} }}
	img := s.Raster(25.4)
	for x := range 2 { // each of the two pixels is half covered; half the light is sRGB 188
		if got := img.NRGBAAt(x, 0).R; got < 187 || got > 189 {
			t.Errorf("pixel %d is %d, want 188", x, got)
		}
	}
}

func TestPNGStatesItsResolution(t *testing.T) {
	var b bytes.Buffer
	if err := Card().WritePNG(&b, 300); err != nil {
		t.Fatal(err)
	}
	i := bytes.Index(b.Bytes(), []byte("pHYs"))
	if i < 0 || !bytes.Equal(b.Bytes()[i+4:i+13], []byte{0, 0, 0x2e, 0x23, 0, 0, 0x2e, 0x23, 1}) { // 11811 per metre
		t.Fatalf("pHYs chunk at %d is wrong", i)
	}
	if _, err := png.Decode(&b); err != nil { // checks every chunk's sum
		t.Fatal(err)
	}
}

func TestSVGIsWellFormed(t *testing.T) {
	for _, s := range Sheets() {
		var b bytes.Buffer
		if err := s.WriteSVG(&b); err != nil {
			t.Fatal(err)
		}
		d := xml.NewDecoder(&b)
		paths := 0
		for {
			token, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", s.Name, err)
			}
			if e, ok := token.(xml.StartElement); ok && e.Name.Local == "path" {
				paths++
			}
		}
		if paths != len(s.Shapes()) {
			t.Errorf("%s: %d paths for %d shapes", s.Name, paths, len(s.Shapes()))
		}
	}
}

func TestPDFPages(t *testing.T) {
	for _, c := range []struct {
		sheet Sheet
		paper string
		ok    bool
	}{
		{Card(), "a4", true}, {Card(), "letter", true}, {Card(), "a3", true},
		{MatA4(), "a4", true}, {MatA4(), "a3", true}, {MatA3(), "a3", true},
		{MatA4(), "letter", false}, {MatA3(), "a4", false},
	} {
		p, err := PaperNamed(c.paper)
		if err != nil {
			t.Fatal(err)
		}
		var a, b bytes.Buffer
		err = c.sheet.WritePDF(&a, p)
		if (err == nil) != c.ok {
			t.Errorf("%s on %s: %v", c.sheet.Name, c.paper, err)
			continue
		}
		if err == nil {
			if err := c.sheet.WritePDF(&b, p); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
				t.Errorf("%s on %s: two runs differ", c.sheet.Name, c.paper)
			}
		}
	}
	if _, err := PaperNamed("b5"); err == nil {
		t.Error("paper b5 was accepted")
	}
}
