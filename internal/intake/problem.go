package intake

import (
	"errors"
	"fmt"
	"io/fs"
)

func problemf(format string, args ...any) Problem { return Problem(fmt.Sprintf(format, args...)) }

func tooLargeFile(size int64) Problem {
	return problemf("the file has %.1f MB and more than %.0f MB are not read; save the photo as a JPEG", float64(size)/1e6, MaxBytes/1e6)
}

func checkSize(width, height int) error {
	switch {
	case width < 1 || height < 1:
		return Problem("the header names no size in pixels, so the file is damaged; copy the photo again")
	case float64(width)*float64(height) > MaxPixels:
		return problemf("the picture has %d × %d px, which is more than %.0f megapixels; take the photo at a lower resolution", width, height, MaxPixels/1e6)
	case width < MinSidePx || height < MinSidePx:
		return problemf("the picture has only %d × %d px, too few to show a tray; use the photo at its full size", width, height)
	}
	return nil
}

func unreadable(err error) Problem {
	var path *fs.PathError
	if errors.As(err, &path) {
		err = path.Err
	}
	return problemf("the file cannot be read (%v); check that it may be opened", err)
}

// Truncated is the problem of a file of which a part is missing.
func Truncated(f Format) Problem {
	return problemf("the %s file is cut short, a part of the picture is missing; copy the photo again from the camera", f)
}

func damaged(f Format, err error) Problem {
	return problemf("the %s file is damaged (%v); copy the photo again from the camera", f, err)
}

func animated(kind string) Problem {
	return problemf("this is an animated %s, not one photo; take a still photo of the tray", kind)
}
