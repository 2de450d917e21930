package intake

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/bep/imagemeta"
)

// metaTimeout bounds the reading of headers that run in circles.
const metaTimeout = 5 * time.Second

var metaFormats = map[Format]imagemeta.ImageFormat{
	JPEG: imagemeta.JPEG, PNG: imagemeta.PNG, TIFF: imagemeta.TIFF, WebP: imagemeta.WebP, HEIC: imagemeta.HEIF,
}

// exifTags are the tags that are read, of IFD0 and the EXIF IFD.
var exifTags = map[string]bool{
	"Orientation": true, "DateTimeOriginal": true, "OffsetTimeOriginal": true, "OffsetTime": true,
	"FocalLength": true, "FocalLengthIn35mmFormat": true, "Make": true, "Model": true, "LensModel": true,
	"DNGVersion": true, "SubfileType": true,
}

// readEXIF takes over what EXIF says. Damaged or absent EXIF is no fault of the photo; the tags of a
// raw file are, since its first picture is a preview.
func (in *Intake) readEXIF() error {
	tags := map[string]any{}
	_, _ = imagemeta.Decode(imagemeta.Options{ // what was read before an error still holds
		R:           bytes.NewReader(in.Bytes),
		ImageFormat: metaFormats[in.Format],
		Sources:     imagemeta.EXIF,
		Timeout:     metaTimeout,
		ShouldHandleTag: func(t imagemeta.TagInfo) bool {
			return exifTags[t.Tag] && strings.HasPrefix(t.Namespace, "IFD0")
		},
		HandleTag: func(t imagemeta.TagInfo) error {
			if _, seen := tags[t.Tag]; !seen {
				tags[t.Tag] = t.Value
			}
			return nil
		},
	})
	in.Make, in.Model, in.Lens = text(tags["Make"]), text(tags["Model"]), text(tags["LensModel"])
	in.FocalMM, in.Focal35MM = positive(tags["FocalLength"]), positive(tags["FocalLengthIn35mmFormat"])
	in.TakenAt = takenAt(text(tags["DateTimeOriginal"]), cmp.Or(text(tags["OffsetTimeOriginal"]), text(tags["OffsetTime"])))
	if o := positive(tags["Orientation"]); in.Format != HEIC && o >= 1 && o <= 8 {
		in.Orientation = int(o)
	}
	_, dng := tags["DNGVersion"]
	if in.Format == TIFF && (dng || positive(tags["SubfileType"]) == 1) {
		return rawProblem()
	}
	return nil
}

// takenAt turns EXIF's "2026:09:12 10:14:00" and "+02:00" into RFC 3339; without an offset the time
// is the camera's local one and says no more.
func takenAt(date, offset string) string {
	t, err := time.Parse("2006:01:02 15:04:05", date)
	if err != nil || t.Year() < 1970 {
		return ""
	}
	local := t.Format("2006-01-02T15:04:05")
	zone, err := time.Parse("-07:00", offset)
	switch {
	case offset == "Z":
		return local + "Z"
	case err != nil:
		return local
	}
	return local + zone.Format("Z07:00")
}

func text(v any) string {
	s, ok := v.(string)
	if !ok {
		return ""
	}
	return strings.TrimSpace(strings.Trim(strings.ToValidUTF8(s, ""), "\x00"))
}

// positive is the tag's number, 0 when it is none.
func positive(v any) float64 {
	var f float64
	switch v := v.(type) {
	case nil:
		return 0
	case interface{ Float64() float64 }:
		f = v.Float64()
	default:
		if _, err := fmt.Sscan(fmt.Sprint(v), &f); err != nil {
			return 0
		}
	}
	if math.IsNaN(f) || math.IsInf(f, 0) || f < 0 {
		return 0
	}
	return f
}
