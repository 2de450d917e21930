package intake

import (
	"bytes"
	"net/http"
	"strings"
)

// sniff tells the format from the first bytes; the file's name says nothing reliable.
func sniff(data []byte) (Format, error) {
	switch {
	case bytes.HasPrefix(data, []byte("\xff\xd8\xff")):
		return JPEG, nil
	case bytes.HasPrefix(data, []byte("\x89PNG\r\n\x1a\n")):
		return PNG, nil
	case bytes.HasPrefix(data, []byte("II*\x00")), bytes.HasPrefix(data, []byte("MM\x00*")):
		return TIFF, nil
	case len(data) >= 12 && bytes.HasPrefix(data, []byte("RIFF")) && string(data[8:12]) == "WEBP":
		return WebP, nil
	case bytes.HasPrefix(data, []byte("GIF8")):
		return "", gifProblem(data)
	case len(data) >= 12 && string(data[4:8]) == "ftyp":
		return sniffBrand(string(data[8:12]))
	case allZero(data):
		return "", Problem("the file holds nothing but zeros, as after a broken copy; copy the photo again from the camera")
	}
	return "", otherProblem(data)
}

// LooksLikePhoto reports whether a file that starts so is of a format that is read; 12 bytes suffice.
func LooksLikePhoto(head []byte) bool {
	_, err := sniff(head)
	return err == nil
}

// sniffBrand tells the still pictures among the files of the ISO base media format (ISO/IEC 14496-12).
func sniffBrand(brand string) (Format, error) {
	switch brand {
	case "heic", "heix", "heim", "heis", "mif1", "msf1", "hevc", "hevx":
		return HEIC, nil
	case "avif", "avis":
		return "", Problem("AVIF pictures are not read; save the photo as a JPEG")
	case "crx ":
		return "", rawProblem()
	}
	return "", Problem("this is a video, not a photo; take a still photo of the tray")
}

// gifProblem refuses a GIF: with its 256 colours it is no photo even when it stands still.
func gifProblem(data []byte) Problem {
	if bytes.Contains(data, []byte("NETSCAPE2.0")) || bytes.Count(data, []byte("\x21\xf9\x04")) > 1 {
		return animated("GIF")
	}
	return Problem("this is a GIF, which keeps too few colours to be measured; use the photo as the camera saved it")
}

func rawProblem() Problem {
	return Problem("this is a camera's raw file, which is not read; save the photo as a JPEG")
}

func otherProblem(data []byte) Problem {
	kind := http.DetectContentType(data)
	switch {
	case kind == "application/pdf":
		return Problem("this is a PDF, not a photo; use the photo file itself")
	case strings.HasPrefix(kind, "text/"):
		return Problem("this is a text file, not a photo, whatever its name says; give a JPEG, PNG, TIFF, WebP or HEIC photo")
	case strings.HasPrefix(kind, "video/"):
		return Problem("this is a video, not a photo; take a still photo of the tray")
	}
	return Problem("this is not a photo that can be read; give a JPEG, PNG, TIFF, WebP or HEIC photo")
}

func allZero(data []byte) bool {
	return len(bytes.Trim(data[:min(len(data), 1<<20)], "\x00")) == 0
}
