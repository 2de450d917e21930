// Package strip takes out of a photo file what it tells beside the picture: place, time, owner, thumbnails, anything behind
// the picture's end. The picture itself is not touched; of the EXIF data its turn alone is kept.
package strip

import (
	"bytes"
	"encoding/binary"
	"errors"
)

// ErrKind is returned for files that cannot be stripped safely: their picture is to be written anew instead.
var ErrKind = errors.New("strip: this kind of photo cannot be served as it is")

// Photo gives the file without what it tells beside the picture, and its media type. JPEG, PNG and WebP are known.
func Photo(data []byte) (out []byte, kind string, err error) {
	switch {
	case bytes.HasPrefix(data, []byte{0xff, 0xd8, 0xff}):
		out, err = jpeg(data)
		return out, "image/jpeg", err
	case bytes.HasPrefix(data, []byte("\x89PNG\r\n\x1a\n")):
		out, err = png(data)
		return out, "image/png", err
	case len(data) > 12 && string(data[:4]) == "RIFF" && string(data[8:12]) == "WEBP":
		out, err = webp(data)
		return out, "image/webp", err
	}
	return nil, "", ErrKind
}

// png keeps the chunks that make the picture and its colours, up to the end chunk.
func png(data []byte) ([]byte, error) {
	out := append([]byte(nil), data[:8]...)
	for at := 8; ; {
		if at+12 > len(data) {
			return nil, ErrKind
		}
		n := int(binary.BigEndian.Uint32(data[at:]))
		if n < 0 || n > len(data)-at-12 {
			return nil, ErrKind
		}
		name := string(data[at+4 : at+8])
		if pngKept[name] {
			out = append(out, data[at:at+12+n]...)
		}
		at += 12 + n
		if name == "IEND" {
			return out, nil
		}
	}
}

var pngKept = map[string]bool{"IHDR": true, "PLTE": true, "IDAT": true, "IEND": true, "tRNS": true, "gAMA": true, "cHRM": true, "sRGB": true, "iCCP": true, "sBIT": true, "pHYs": true}

// webp keeps the chunks that make the picture, and clears the flags of those taken out.
func webp(data []byte) ([]byte, error) {
	end := int(binary.LittleEndian.Uint32(data[4:])) + 8
	if end > len(data) || end < 12 {
		return nil, ErrKind
	}
	out := append([]byte(nil), data[:12]...)
	for at := 12; at+8 <= end; {
		n := int(binary.LittleEndian.Uint32(data[at+4:]))
		whole := 8 + n + n&1
		if n < 0 || at+8+n > end {
			return nil, ErrKind
		}
		chunk := append([]byte(nil), data[at:min(at+whole, end)]...)
		switch name := string(chunk[:4]); name {
		case "VP8X":
			if n < 10 {
				return nil, ErrKind
			}
			chunk[8] &^= 0x08 | 0x04 // EXIF and XMP
			out = append(out, chunk...)
		case "VP8 ", "VP8L", "ALPH", "ANIM", "ANMF", "ICCP":
			out = append(out, chunk...)
		}
		at += whole
	}
	binary.LittleEndian.PutUint32(out[4:], uint32(len(out)-8))
	return out, nil
}
