package strip

import (
	"bytes"
	"encoding/binary"
)

// Markers of a JPEG file, ITU-T T.81 table B.1.
const (
	soi  = 0xd8
	eoi  = 0xd9
	sos  = 0xda
	app0 = 0xe0
	app1 = 0xe1
	app2 = 0xe2
	adob = 0xee
	com  = 0xfe
)

// jpeg keeps the segments that make the picture, the colour profile and the turn, up to the end marker.
func jpeg(data []byte) ([]byte, error) {
	out := []byte{0xff, soi}
	turn := uint16(0)
	var body []byte
	for at := 2; ; {
		for at < len(data) && data[at] == 0xff && at+1 < len(data) && data[at+1] == 0xff {
			at++
		}
		if at+2 > len(data) || data[at] != 0xff {
			return nil, ErrKind
		}
		marker := data[at+1]
		if marker == eoi {
			body = append(body, 0xff, eoi)
			break
		}
		if at+4 > len(data) {
			return nil, ErrKind
		}
		n := int(binary.BigEndian.Uint16(data[at+2:]))
		if n < 2 || at+2+n > len(data) {
			return nil, ErrKind
		}
		segment := data[at : at+2+n]
		at += 2 + n
		if marker == app1 && turn == 0 {
			turn = orientation(segment[4:])
		}
		if kept(marker, segment) {
			body = append(body, segment...)
		}
		if marker == sos {
			end := scan(data, at)
			body = append(body, data[at:end]...)
			at = end
		}
	}
	if turn > 1 && turn <= 8 {
		out = append(out, turned(turn)...)
	}
	return append(out, body...), nil
}

// kept tells whether a segment makes the picture or its colours.
func kept(marker byte, segment []byte) bool {
	switch {
	case marker == app0:
		return bytes.HasPrefix(segment[4:], []byte("JFIF\x00")) && len(segment) <= 18 // without a thumbnail
	case marker == app2:
		return bytes.HasPrefix(segment[4:], []byte("ICC_PROFILE\x00"))
	case marker == adob:
		return bytes.HasPrefix(segment[4:], []byte("Adobe"))
	case marker >= app0 && marker <= 0xef, marker == com:
		return false
	}
	return true
}

// scan finds the end of the coded data that starts at: the next marker that is no restart and no stuffed byte.
func scan(data []byte, at int) int {
	for ; at+1 < len(data); at++ {
		if data[at] == 0xff && data[at+1] != 0 && data[at+1] != 0xff && (data[at+1] < 0xd0 || data[at+1] > 0xd7) {
			return at
		}
	}
	return len(data)
}

// orientation reads the turn from an EXIF segment: tag 0x0112 of the first directory; 0 where there is none.
func orientation(p []byte) uint16 {
	p, ok := bytes.CutPrefix(p, []byte("Exif\x00\x00"))
	if !ok || len(p) < 8 {
		return 0
	}
	var order binary.ByteOrder = binary.LittleEndian
	if p[0] == 'M' {
		order = binary.BigEndian
	}
	at := int64(order.Uint32(p[4:]))
	if at < 8 || at+2 > int64(len(p)) {
		return 0
	}
	n := int64(order.Uint16(p[at:]))
	for i := range n {
		entry := at + 2 + 12*i
		if entry+12 > int64(len(p)) {
			return 0
		}
		if order.Uint16(p[entry:]) == 0x0112 {
			return order.Uint16(p[entry+8:])
		}
	}
	return 0
}

// turned is an EXIF segment that holds the turn and nothing else.
func turned(turn uint16) []byte {
	b := []byte{0xff, app1, 0, 34, 'E', 'x', 'i', 'f', 0, 0, 'M', 'M', 0, 42, 0, 0, 0, 8, 0, 1, 0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0}
	binary.BigEndian.PutUint16(b[28:], turn)
	return b
}
