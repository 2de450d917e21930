package strip

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	stdjpeg "image/jpeg"
	stdpng "image/png"
	"testing"

	"github.com/disintegration/imaging"
)

// picture has a bright left half, so that a turn shows.
func picture() *image.NRGBA {
	m := image.NewNRGBA(image.Rect(0, 0, 40, 24))
	for y := range 24 {
		for x := range 20 {
			m.Set(x, y, color.White)
		}
	}
	return m
}

func encoded(t *testing.T) []byte {
	var b bytes.Buffer
	if err := stdjpeg.Encode(&b, picture(), nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// withExif puts a segment with the turn 6 and a place, as text, behind the start of a JPEG.
func withExif(data []byte) []byte {
	exif := turned(6)
	exif = append(exif, []byte("GPS 48.2083 16.3731")...)
	binary.BigEndian.PutUint16(exif[2:], uint16(len(exif)-2))
	comment := append([]byte{0xff, com, 0, 8}, []byte("secret")...)
	return bytes.Join([][]byte{data[:2], exif, comment, data[2:], []byte("PK\x03\x04 behind")}, nil)
}

func TestJPEGKeepsPictureAndTurnAlone(t *testing.T) {
	out, kind, err := Photo(withExif(encoded(t)))
	if err != nil || kind != "image/jpeg" {
		t.Fatal(kind, err)
	}
	for _, leak := range []string{"GPS", "secret", "behind"} {
		if bytes.Contains(out, []byte(leak)) {
			t.Errorf("%q is still in the file", leak)
		}
	}
	m, err := imaging.Decode(bytes.NewReader(out), imaging.AutoOrientation(true))
	if err != nil {
		t.Fatal(err)
	}
	if got := m.Bounds().Size(); got != image.Pt(24, 40) {
		t.Errorf("size %v: the turn is lost", got)
	}
	plain, err := stdjpeg.Decode(bytes.NewReader(encoded(t)))
	if err != nil {
		t.Fatal(err)
	}
	again, err := stdjpeg.Decode(bytes.NewReader(out))
	if err != nil || !sameColours(plain, again) {
		t.Errorf("the picture changed: %v", err)
	}
}

func sameColours(a, b image.Image) bool {
	for y := a.Bounds().Min.Y; y < a.Bounds().Max.Y; y++ {
		for x := a.Bounds().Min.X; x < a.Bounds().Max.X; x++ {
			if a.At(x, y) != b.At(x, y) {
				return false
			}
		}
	}
	return a.Bounds() == b.Bounds()
}

func chunk(name, text string) []byte {
	b := binary.BigEndian.AppendUint32(nil, uint32(len(text)))
	b = append(append(b, name...), text...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:]))
}

func TestPNGLosesTextsAndWhatFollows(t *testing.T) {
	var b bytes.Buffer
	if err := stdpng.Encode(&b, picture()); err != nil {
		t.Fatal(err)
	}
	data := bytes.Join([][]byte{b.Bytes()[:33], chunk("tEXt", "Author\x00somebody"), chunk("eXIf", "MM place"), b.Bytes()[33:], []byte("<script>")}, nil)
	out, _, err := Photo(data)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(out, b.Bytes()) {
		t.Errorf("%d bytes left of %d", len(out), b.Len())
	}
}

func TestWebPLosesItsExif(t *testing.T) {
	part := func(name, text string) []byte {
		p := append([]byte(name), 0, 0, 0, 0)
		binary.LittleEndian.PutUint32(p[4:], uint32(len(text)))
		p = append(p, text...)
		if len(text)%2 == 1 {
			p = append(p, 0)
		}
		return p
	}
	body := bytes.Join([][]byte{[]byte("WEBP"), part("VP8X", "\x0c\x00\x00\x00\x00\x00\x00\x00\x00\x00"), part("VP8L", "abc"), part("EXIF", "place"), part("XMP ", "owner")}, nil)
	head := append([]byte("RIFF"), 0, 0, 0, 0)
	binary.LittleEndian.PutUint32(head[4:], uint32(len(body)))
	out, kind, err := Photo(append(head, body...))
	if err != nil || kind != "image/webp" {
		t.Fatal(kind, err)
	}
	if bytes.Contains(out, []byte("place")) || bytes.Contains(out, []byte("owner")) || out[20] != 0 {
		t.Errorf("left: %q", out)
	}
	if int(binary.LittleEndian.Uint32(out[4:])) != len(out)-8 {
		t.Error("the length in the header is wrong")
	}
}

func FuzzPhoto(f *testing.F) {
	f.Add([]byte("RIFF\x10\x00\x00\x00WEBPVP8 \x00\x00\x00\x00"))
	f.Add([]byte{0xff, 0xd8, 0xff, 0xe1, 0, 4, 1, 1, 0xff, 0xd9})
	f.Add([]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\x00IEND\x00\x00\x00\x00"))
	f.Fuzz(func(t *testing.T, data []byte) {
		out, _, err := Photo(data)
		if err == nil && len(out) > len(data)+36 {
			t.Errorf("%d bytes out of %d", len(out), len(data))
		}
	})
}
