package intake

import (
	"bytes"
	"encoding/binary"
	"image"
	"sync"

	"github.com/bep/imagemeta"
	"github.com/gen2brain/heic"
)

// oneHEIC lets one HEIC be decoded at a time: without the system's libheif each takes over 500 MB.
var oneHEIC sync.Mutex

// sizeHEIC reads the size from the header. Sides may be swapped there, since the file's own rotation
// comes with decoding.
func sizeHEIC(data []byte) (width, height int, err error) {
	config, err := imagemeta.Decode(imagemeta.Options{
		R: bytes.NewReader(data), ImageFormat: imagemeta.HEIF, Sources: imagemeta.CONFIG, Timeout: metaTimeout,
	})
	switch cut := wholeHEIC(data); {
	case cut != nil:
		return 0, 0, cut
	case err != nil:
		return 0, 0, damaged(HEIC, err)
	}
	return config.ImageConfig.Width, config.ImageConfig.Height, nil
}

// wholeHEIC walks the boxes of the file (ISO/IEC 14496-12) and finds whether the last one is cut.
func wholeHEIC(data []byte) error {
	for rest := data; len(rest) > 0; {
		if len(rest) < 8 {
			return Truncated(HEIC)
		}
		size := uint64(binary.BigEndian.Uint32(rest))
		if size == 0 {
			return nil // to the end of the file
		}
		if size == 1 && len(rest) >= 16 {
			size = binary.BigEndian.Uint64(rest[8:])
		}
		if size < 8 || size > uint64(len(rest)) {
			return Truncated(HEIC)
		}
		rest = rest[size:]
	}
	return nil
}

// decodeHEIC decodes with the rotation of the file applied; EXIF's orientation repeats it only.
func decodeHEIC(data []byte) (image.Image, error) {
	oneHEIC.Lock()
	defer oneHEIC.Unlock()
	img, err := heic.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, damaged(HEIC, err)
	}
	return img, nil
}
