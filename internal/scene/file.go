package scene

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/jpeg"
	"math"
	"time"
)

// Capture is what the camera writes about itself.
type Capture struct {
	Make, Model string
	TakenAt     time.Time // zero: not written
	Offset      string    // like +02:00; empty: not written
	Orientation int       // 1, 3, 6 or 8; 0 counts as 1
	FocalMM     float64   // 0: not written
	Focal35MM   float64
}

// DefaultCapture describes the invented camera that took the picture.
func (p *Picture) DefaultCapture() Capture {
	f := p.Truth.Camera.Focal35MM
	day := time.Date(2026, 9, 1, 8, 0, 0, 0, time.UTC).Add(time.Duration(p.Truth.Seed%40000) * time.Minute)
	return Capture{Make: "Testcam", Model: "T1", TakenAt: day, Orientation: 1, FocalMM: rounded(f*0.164, 3), Focal35MM: f}
}

// JPEG encodes the picture at its drawn quality, with the capture in EXIF. The bytes depend on the Go version's encoder.
func (p *Picture) JPEG(c Capture) ([]byte, error) {
	q := int(math.Round(p.Truth.Settings.Photo.Quality.draw(stream(p.Truth.Seed, streamPhoto+100))))
	var body bytes.Buffer
	if err := jpeg.Encode(&body, stored(p.Image, c.Orientation), &jpeg.Options{Quality: q}); err != nil {
		return nil, fmt.Errorf("scene: encoding the photo: %w", err)
	}
	out := append([]byte{0xFF, 0xD8}, exifSegment(c)...)
	return append(out, body.Bytes()[2:]...), nil
}

// stored turns an upright picture into the pixels that a camera held otherwise would store.
func stored(img *image.NRGBA, orientation int) *image.NRGBA {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	var at func(x, y int) (int, int) // stored to upright
	ow, oh := w, h
	switch orientation {
	case 3:
		at = func(x, y int) (int, int) { return w - 1 - x, h - 1 - y }
	case 6:
		ow, oh = h, w
		at = func(x, y int) (int, int) { return w - 1 - y, x }
	case 8:
		ow, oh = h, w
		at = func(x, y int) (int, int) { return y, h - 1 - x }
	default:
		return img
	}
	out := image.NewNRGBA(image.Rect(0, 0, ow, oh))
	for y := 0; y < oh; y++ {
		for x := 0; x < ow; x++ {
			u, v := at(x, y)
			copy(out.Pix[out.PixOffset(x, y):][:4], img.Pix[img.PixOffset(u, v):][:4])
		}
	}
	return out
}

// tag is one EXIF entry.
type tag struct {
	id, kind uint16
	count    uint32
	data     []byte
}

func ascii(id uint16, s string) tag { return tag{id, 2, uint32(len(s) + 1), append([]byte(s), 0)} }

func short(id, v uint16) tag { return tag{id, 3, 1, binary.BigEndian.AppendUint16(nil, v)} }

func rational(id uint16, v float64) tag {
	b := binary.BigEndian.AppendUint32(nil, uint32(math.Round(v*1000)))
	return tag{id, 5, 1, binary.BigEndian.AppendUint32(b, 1000)}
}

// exifSegment is the APP1 segment: TIFF 6.0 directories as EXIF 2.32 lays them out.
func exifSegment(c Capture) []byte {
	main := []tag{ascii(0x010F, c.Make), ascii(0x0110, c.Model), short(0x0112, uint16(max(1, c.Orientation)))}
	var sub []tag
	if !c.TakenAt.IsZero() {
		when := c.TakenAt.Format("2006:01:02 15:04:05")
		main = append(main, ascii(0x0132, when))
		sub = append(sub, ascii(0x9003, when))
		if c.Offset != "" {
			sub = append(sub, ascii(0x9011, c.Offset))
		}
	}
	if c.FocalMM > 0 {
		sub = append(sub, rational(0x920A, c.FocalMM), short(0xA405, uint16(math.Round(c.Focal35MM))))
	}
	const first = 8
	link := tag{0x8769, 4, 1, make([]byte, 4)}
	size := len(directory(append(main, link), first))
	binary.BigEndian.PutUint32(link.data, uint32(first+size))
	tiff := append([]byte("MM\x00*\x00\x00\x00\x08"), directory(append(main, link), first)...)
	tiff = append(tiff, directory(sub, first+size)...)
	out := []byte{0xFF, 0xE1}
	out = binary.BigEndian.AppendUint16(out, uint16(2+6+len(tiff)))
	return append(append(out, "Exif\x00\x00"...), tiff...)
}

func directory(tags []tag, at int) []byte {
	out := binary.BigEndian.AppendUint16(nil, uint16(len(tags)))
	var heap []byte
	behind := at + 2 + 12*len(tags) + 4
	for _, t := range tags {
		out = binary.BigEndian.AppendUint16(out, t.id)
		out = binary.BigEndian.AppendUint16(out, t.kind)
		out = binary.BigEndian.AppendUint32(out, t.count)
		if len(t.data) <= 4 {
			out = append(out, append(t.data, 0, 0, 0, 0)[:4]...)
			continue
		}
		out = binary.BigEndian.AppendUint32(out, uint32(behind+len(heap)))
		heap = append(heap, t.data...)
		if len(heap)%2 == 1 {
			heap = append(heap, 0)
		}
	}
	return append(append(out, 0, 0, 0, 0), heap...)
}
