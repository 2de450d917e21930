package intake

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestReadsEveryFormat(t *testing.T) {
	for _, c := range []struct {
		format Format
		data   []byte
		w, h   int
		image  bool
	}{
		{JPEG, jpegFile(t, 200, 120), 200, 120, false},
		{PNG, pngFile(t, 200, 120), 200, 120, false},
		{TIFF, tiffFile(t, 200, 120), 200, 120, true},
		{WebP, moduleFile(t, "golang.org/x/image", "testdata/blue-purple-pink.lossy.webp"), 150, 100, true},
	} {
		in, err := FromBytes("name.xyz", c.data)
		if err != nil {
			t.Errorf("%s: %v", c.format, err)
			continue
		}
		if in.Format != c.format || in.WidthPx != c.w || in.HeightPx != c.h || (in.Image != nil) != c.image {
			t.Errorf("got %s %d × %d, image %v", in.Format, in.WidthPx, in.HeightPx, in.Image != nil)
		}
		if len(in.SHA256) != 64 || in.TakenAt != "" || in.Orientation != 1 {
			t.Errorf("%s: sha %q, taken %q, orientation %d", c.format, in.SHA256, in.TakenAt, in.Orientation)
		}
	}
}

func TestReadsHEICUprightOnce(t *testing.T) {
	data := moduleFile(t, "github.com/bep/imagemeta", "testdata/images/iphone.heic")
	in, err := FromBytes("a.heic", data)
	if err != nil {
		t.Fatal(err)
	}
	size := in.Image.Bounds().Size()
	if in.Orientation != 1 || size.X != in.WidthPx || size.Y != in.HeightPx {
		t.Errorf("orientation %d, picture %v, said %d × %d", in.Orientation, size, in.WidthPx, in.HeightPx)
	}
	if in.Make != "Apple" || in.FocalMM <= 0 || in.Focal35MM <= 0 || in.TakenAt == "" {
		t.Errorf("make %q, focal %v / %v, taken %q", in.Make, in.FocalMM, in.Focal35MM, in.TakenAt)
	}
	_, err = FromBytes("a.heic", data[:len(data)*2/3])
	wantProblem(t, err, "cut short")
}

func TestEXIF(t *testing.T) {
	ifd0 := []tag{{0x010f, "Plain Camera Works"}, {0x0110, "P 12"}, {0x0112, uint16(6)}}
	exif := []tag{{0x9003, "2026:09:12 10:14:00"}, {0x9011, "+02:00"},
		{0x920a, [2]uint32{425, 100}}, {0xa405, uint16(26)}, {0xa434, "wide 4.25 mm"}}
	in, err := FromBytes("a.jpg", withEXIF(jpegFile(t, 200, 120), ifd0, exif))
	if err != nil {
		t.Fatal(err)
	}
	if in.Orientation != 6 || in.WidthPx != 120 || in.HeightPx != 200 {
		t.Errorf("orientation %d, %d × %d, want 6, upright 120 × 200", in.Orientation, in.WidthPx, in.HeightPx)
	}
	if in.TakenAt != "2026-09-12T10:14:00+02:00" {
		t.Errorf("taken at %q", in.TakenAt)
	}
	if in.FocalMM != 4.25 || in.Focal35MM != 26 || in.Make != "Plain Camera Works" || in.Model != "P 12" || in.Lens != "wide 4.25 mm" {
		t.Errorf("got %+v, %v, %q, %q, %q", in.FocalMM, in.Focal35MM, in.Make, in.Model, in.Lens)
	}
}

func TestTakenAt(t *testing.T) {
	for _, c := range []struct{ date, offset, want string }{
		{"2026:09:12 10:14:00", "", "2026-09-12T10:14:00"},
		{"2026:09:12 10:14:00", "+00:00", "2026-09-12T10:14:00Z"},
		{"2026:09:12 10:14:00", "-05:30", "2026-09-12T10:14:00-05:30"},
		{"2026:09:12 10:14:00", "   :  ", "2026-09-12T10:14:00"},
		{"2026:13:12 10:14:00", "+02:00", ""},
		{"0000:00:00 00:00:00", "", ""},
		{"    :  :     :  :  ", "", ""},
	} {
		if got := takenAt(c.date, c.offset); got != c.want {
			t.Errorf("takenAt(%q, %q) = %q, want %q", c.date, c.offset, got, c.want)
		}
	}
}

func TestRefusals(t *testing.T) {
	jpg, pic, tif := jpegFile(t, 640, 480), pngFile(t, 200, 120), tiffFile(t, 200, 120)
	flipped := bytes.Clone(pic)
	flipped[len(flipped)/2] ^= 0x10
	for _, c := range []struct {
		name string
		data []byte
		want string
	}{
		{"empty", nil, "empty"},
		{"zeros", make([]byte, 5000), "zeros"},
		{"text", []byte("date,photo\n2026-09-12,a.jpg\n"), "text file"},
		{"pdf", []byte("%PDF-1.7\n%âãÏÓ\n"), "PDF"},
		{"noise", []byte("\x01\x02\x03\xfa\xfb\xfc\xfd\xfe"), "not a photo"},
		{"film", []byte("\x00\x00\x00\x18ftypmp42\x00\x00\x00\x00mp42isom"), "video"},
		{"avif", []byte("\x00\x00\x00\x18ftypavif\x00\x00\x00\x00mif1avif"), "AVIF"},
		{"gif", gifFile(t, 1), "GIF"},
		{"animated gif", gifFile(t, 3), "animated GIF"},
		{"animated png", withChunk(pic, "acTL", []byte{0, 0, 0, 2, 0, 0, 0, 0}), "animated PNG"},
		{"animated webp", webpHeader(1 << 1), "animated WebP"},
		{"cut webp", webpHeader(0)[:20], "cut short"},
		{"webp of no picture", webpHeader(0), "damaged"},
		{"cut jpeg", jpg[:len(jpg)*9/10], "cut short"},
		{"jpeg without its last byte", jpg[:len(jpg)-1], "cut short"},
		{"jpeg cut in its header", jpg[:30], "cut short"},
		{"jpeg of a start alone", jpg[:4], "cut short"},
		{"cut jpeg filled with zeros", append(bytes.Clone(jpg[:len(jpg)/2]), make([]byte, len(jpg)/2)...), "cut short"},
		{"jpeg without a picture", []byte("\xff\xd8\xff\xd9"), "JPEG"},
		{"cut png", pic[:len(pic)-20], "cut short"},
		{"png of a signature", pic[:12], "cut short"},
		{"flipped png", flipped, "damaged"},
		{"cut tiff", tif[:len(tif)*2/3], "cut short"},
		{"tiff of a signature", tif[:6], "TIFF"},
		{"huge png", hugePNG(t, 40000, 30000), "megapixels"},
		{"png of no size", hugePNG(t, 0, 100), "damaged"},
		{"tiny", pngFile(t, 20, 20), "too few"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := FromBytes("a.jpg", c.data)
			wantProblem(t, err, c.want)
		})
	}
}

// A thumbnail in EXIF has an end marker of its own, which must not pass for that of the photo.
func TestThumbnailEndIsNoEnd(t *testing.T) {
	thumb := append([]byte("\xff\xe1\x00\x00"), jpegFile(t, 64, 64)...)
	thumb[2], thumb[3] = byte((len(thumb)-2)>>8), byte(len(thumb)-2)
	jpg := jpegFile(t, 300, 200)
	file := append(append(bytes.Clone(jpg[:2]), thumb...), jpg[2:]...)
	if _, err := FromBytes("a.jpg", file); err != nil {
		t.Fatalf("whole: %v", err)
	}
	_, err := FromBytes("a.jpg", file[:len(file)-100])
	wantProblem(t, err, "cut short")
}

// A cut file that was given its end marker back is told by its data.
func TestCutInside(t *testing.T) {
	jpg := jpegFile(t, 640, 480)
	if CutInside(jpg) {
		t.Error("a whole file was taken for a cut one")
	}
	mended := append(bytes.Clone(jpg[:len(jpg)*3/4]), 0xff, 0xd9)
	if _, err := FromBytes("a.jpg", mended); err != nil {
		t.Errorf("the markers are all there: %v", err)
	}
	if !CutInside(mended) {
		t.Error("the cut was not found")
	}
}

// What a camera hangs on behind the end of the picture is no fault.
func TestTrailerIsNoFault(t *testing.T) {
	file := append(jpegFile(t, 300, 200), "trailing data of the camera"...)
	if _, err := FromBytes("a.jpg", file); err != nil {
		t.Error(err)
	}
}

func TestReadRefusesWhatIsNoFile(t *testing.T) {
	dir := t.TempDir()
	big := filepath.Join(dir, "big.jpg")
	f, err := os.Create(big)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(f.Truncate(61e6), f.Close()); err != nil { // a sparse file
		t.Fatal(err)
	}
	for _, c := range []struct{ path, want string }{
		{filepath.Join(dir, "none.jpg"), "no such file"},
		{dir, "folder"},
		{os.DevNull, "regular"},
		{big, "61.0 MB"},
	} {
		in, err := Read(c.path)
		wantProblem(t, err, c.want)
		if in == nil || in.File != c.path {
			t.Errorf("%s: the record does not name its file", c.path)
		}
	}
}

// wantProblem demands a Problem of one sentence with the words wanted.
func wantProblem(t *testing.T, err error, want string) {
	t.Helper()
	var p Problem
	if !errors.As(err, &p) {
		t.Fatalf("got %v, want a problem", err)
	}
	if !strings.Contains(string(p), want) || strings.ContainsAny(string(p), "\n") || len(p) > 200 {
		t.Errorf("problem %q, want %q in one sentence", string(p), want)
	}
}
