package pipeline

import (
	"gristmark/internal/intake"
	"gristmark/vision"
)

// cutInside reports whether a JPEG lost a part of its picture though its end marker is there, as after a repair by
// some program. The decoder leaves such blocks at mid grey, 128 in every channel, and the last of the stored picture
// lies in a corner of the upright one; only a photo with such a corner is looked at more closely.
func cutInside(in *intake.Intake, photo *vision.Photo) bool {
	const side, midGrey = 8, 128
	mat := photo.Mat()
	pix, err := mat.DataPtrUint8()
	if err != nil || in.Format != intake.JPEG {
		return false
	}
	w, h := photo.Width(), photo.Height()
	for _, corner := range [][2]int{{0, 0}, {w - side, 0}, {0, h - side}, {w - side, h - side}} {
		flat := true
		for y := corner[1]; y < corner[1]+side && flat; y++ {
			for _, v := range pix[3*(y*w+corner[0]) : 3*(y*w+corner[0]+side)] {
				flat = flat && v == midGrey
			}
		}
		if flat {
			return intake.CutInside(in.Bytes)
		}
	}
	return false
}
