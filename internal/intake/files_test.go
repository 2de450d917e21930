package intake

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/image/tiff"
)

// picture is a w × h ramp, red growing to the right and green downwards.
func picture(w, h int) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.SetNRGBA(x, y, color.NRGBA{uint8(255 * x / w), uint8(255 * y / h), uint8(x * y), 255})
		}
	}
	return img
}

func jpegFile(t testing.TB, w, h int) []byte {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, picture(w, h), &jpeg.Options{Quality: 90}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func pngFile(t testing.TB, w, h int) []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, picture(w, h)); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func tiffFile(t testing.TB, w, h int) []byte {
	var b bytes.Buffer
	if err := tiff.Encode(&b, picture(w, h), nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func gifFile(t testing.TB, frames int) []byte {
	var g gif.GIF
	for range frames {
		g.Image = append(g.Image, image.NewPaletted(image.Rect(0, 0, 80, 80), color.Palette{color.Black, color.White}))
		g.Delay = append(g.Delay, 10)
	}
	var b bytes.Buffer
	if err := gif.EncodeAll(&b, &g); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// withChunk puts a chunk after the header of a PNG.
func withChunk(file []byte, kind string, body []byte) []byte {
	const header = 8 + 25
	chunk := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
	chunk = append(append(chunk, kind...), body...)
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))
	return append(append(bytes.Clone(file[:header]), chunk...), file[header:]...)
}

// hugePNG has a sound header that claims w × h px, and hardly any bytes.
func hugePNG(t testing.TB, w, h uint32) []byte {
	file := bytes.Clone(pngFile(t, 64, 64))
	binary.BigEndian.PutUint32(file[16:], w)
	binary.BigEndian.PutUint32(file[20:], h)
	binary.BigEndian.PutUint32(file[29:], crc32.ChecksumIEEE(file[12:29]))
	return file
}

// webpHeader is the head of an extended WebP with the given flags.
func webpHeader(flags byte) []byte {
	body := append([]byte("WEBPVP8X\x0a\x00\x00\x00"), flags, 0, 0, 0, 99, 0, 0, 99, 0, 0)
	return append(append([]byte("RIFF"), byte(len(body)), 0, 0, 0), body...)
}

// tag is one entry of an EXIF directory: text, a 16 bit number or a fraction of 32 bit ones.
type tag struct {
	id    uint16
	value any
}

// withEXIF puts an APP1 segment with the tags into a JPEG; those of exif go into the EXIF directory.
// The layout is that of TIFF 6.0, big endian.
func withEXIF(file []byte, ifd0, exif []tag) []byte {
	const exifPointer = 0x8769
	at := uint32(8)
	first := directory(append(ifd0, tag{exifPointer, uint32(0)}), at)
	second := at + uint32(len(first))
	body := append([]byte("MM\x00\x2a\x00\x00\x00\x08"), directory(append(ifd0, tag{exifPointer, second}), at)...)
	body = append(body, directory(exif, second)...)
	segment := append([]byte("\xff\xe1\x00\x00Exif\x00\x00"), body...)
	binary.BigEndian.PutUint16(segment[2:], uint16(len(segment)-2))
	return append(append(bytes.Clone(file[:2]), segment...), file[2:]...)
}

func directory(tags []tag, at uint32) []byte {
	be := binary.BigEndian
	out := be.AppendUint16(nil, uint16(len(tags)))
	var far []byte
	farAt := at + uint32(2+12*len(tags)+4)
	for _, t := range tags {
		out = be.AppendUint16(out, t.id)
		switch v := t.value.(type) {
		case uint16:
			out = be.AppendUint32(be.AppendUint16(out, 3), 1)
			out = append(be.AppendUint16(out, v), 0, 0)
		case uint32:
			out = be.AppendUint32(be.AppendUint32(be.AppendUint16(out, 4), 1), v)
		case string:
			out = be.AppendUint32(be.AppendUint16(out, 2), uint32(len(v)+1))
			out = be.AppendUint32(out, farAt+uint32(len(far)))
			far = append(append(far, v...), 0)
		case [2]uint32:
			out = be.AppendUint32(be.AppendUint16(out, 5), 1)
			out = be.AppendUint32(out, farAt+uint32(len(far)))
			far = be.AppendUint32(be.AppendUint32(far, v[0]), v[1])
		}
	}
	return append(be.AppendUint32(out, 0), far...)
}

// moduleFile reads a file that a module in use brings along for its own tests.
func moduleFile(t testing.TB, module, path string) []byte {
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", module).Output()
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(out)), path))
	if err != nil {
		t.Fatal(err)
	}
	return data
}
