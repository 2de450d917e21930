package intake

import (
	"errors"
	"testing"
)

// FuzzRead demands of any bytes: a problem for a person, or a photo with a sensible size; no panic.
func FuzzRead(f *testing.F) {
	exif := withEXIF(jpegFile(f, 80, 70), []tag{{0x0112, uint16(6)}}, []tag{{0x9003, "2026:09:12 10:14:00"}})
	for _, seed := range [][]byte{
		nil, []byte("text"), exif, exif[:len(exif)/2], pngFile(f, 80, 70), hugePNG(f, 1<<31, 1<<31),
		withChunk(pngFile(f, 80, 70), "eXIf", exif[12:200]), tiffFile(f, 80, 70), tiffFile(f, 80, 70)[:100],
		gifFile(f, 2), webpHeader(0), webpHeader(2), []byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"),
		[]byte("\x00\x00\x00\x01ftypheic\xff\xff\xff\xff\xff\xff\xff\xff"), []byte("\xff\xd8\xff\xda\x00\x00"),
		moduleFile(f, "github.com/gen2brain/heic", "testdata/gray.heic"),
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		in, err := FromBytes("photo", data)
		var p Problem
		switch {
		case err != nil && !errors.As(err, &p):
			t.Errorf("error %v is not a problem", err)
		case err == nil && (in.WidthPx < MinSidePx || in.HeightPx < MinSidePx || in.WidthPx*in.HeightPx > MaxPixels):
			t.Errorf("accepted a photo of %d × %d px", in.WidthPx, in.HeightPx)
		case in.Orientation < 1 || in.Orientation > 8:
			t.Errorf("orientation %d", in.Orientation)
		}
	})
}
