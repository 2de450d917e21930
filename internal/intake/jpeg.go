package intake

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image/jpeg"
)

// Markers of JPEG (ISO/IEC 10918-1, table B.1).
const (
	markSOS  = 0xda
	markEOI  = 0xd9
	markRST0 = 0xd0
	markRST7 = 0xd7
	markTEM  = 0x01
)

func sizeJPEG(data []byte) (int, int, error) {
	c, err := jpeg.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		if wholeJPEG(data) == Truncated(JPEG) {
			return 0, 0, Truncated(JPEG)
		}
		return 0, 0, damaged(JPEG, err)
	}
	return c.Width, c.Height, nil
}

// wholeJPEG walks the markers to the end of the picture. Decoders fill what is missing with grey and
// say nothing, so a file whose end marker was lost must be caught here. What a camera hangs on
// behind the end, such as a second picture or a film, is not looked at.
func wholeJPEG(data []byte) error {
	rest, scans := data[2:], 0
	for {
		start := bytes.IndexByte(rest, 0xff)
		if start < 0 {
			return Truncated(JPEG)
		}
		for rest = rest[start:]; len(rest) > 0 && rest[0] == 0xff; rest = rest[1:] {
		}
		if len(rest) == 0 {
			return Truncated(JPEG)
		}
		mark := rest[0]
		rest = rest[1:]
		switch {
		case mark == markEOI && scans == 0:
			return problemf("the JPEG file holds no picture; copy the photo again from the camera")
		case mark == markEOI:
			return nil
		case mark == 0 || mark == markTEM || mark >= markRST0 && mark <= markRST7:
			continue // inside the coded picture
		}
		if mark == markSOS {
			scans++
		}
		if rest = skipSegment(rest); rest == nil {
			return Truncated(JPEG)
		}
	}
}

// skipSegment passes over a segment with its length in front; nil when the file ends first.
func skipSegment(rest []byte) []byte {
	if len(rest) < 2 {
		return nil
	}
	length := int(binary.BigEndian.Uint16(rest))
	if length < 2 || length >= len(rest) {
		return nil
	}
	return rest[length:]
}

// CutInside reports whether coded data of a JPEG are missing before its end marker. It decodes the picture, which
// takes several times as long as the measuring part's decoder.
func CutInside(data []byte) bool {
	_, err := jpeg.Decode(bytes.NewReader(data))
	var unsupported jpeg.UnsupportedError
	return err != nil && !errors.As(err, &unsupported)
}
