package intake

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image/png"
)

func sizePNG(data []byte) (int, int, error) {
	c, err := png.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		if len(data) < 33 {
			return 0, 0, Truncated(PNG)
		}
		return 0, 0, damaged(PNG, err)
	}
	return c.Width, c.Height, nil
}

// wholePNG checks every chunk's check sum up to the end chunk, and that there is one picture
// (an animation has an acTL chunk).
func wholePNG(data []byte) error {
	for rest := data[8:]; len(rest) >= 12; {
		length := binary.BigEndian.Uint32(rest)
		if uint64(length)+12 > uint64(len(rest)) {
			return Truncated(PNG)
		}
		kind, body := string(rest[4:8]), rest[4:8+length]
		if crc32.ChecksumIEEE(body) != binary.BigEndian.Uint32(rest[8+length:]) {
			return damaged(PNG, errors.New("a check sum is wrong"))
		}
		switch kind {
		case "acTL":
			return animated("PNG")
		case "IEND":
			return nil
		}
		rest = rest[12+length:]
	}
	return Truncated(PNG)
}
