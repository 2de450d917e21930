// Package intake reads photo files: what they are, whether they are whole, when and with what they
// were taken. The header is read first, and what is too large is refused before it is decoded.
package intake

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"image"
	"image/draw"
	"io"
	"io/fs"
	"os"
)

// Limits of what is read, checked before anything is decoded.
const (
	MaxPixels = 120e6    // of width × height
	MaxBytes  = 60 * 1e6 // of the file
	MinSidePx = 64       // a picture smaller than this shows no tray
)

// Format is a kind of picture file that can be measured.
type Format string

// The formats that are read.
const (
	JPEG Format = "JPEG"
	PNG  Format = "PNG"
	TIFF Format = "TIFF"
	WebP Format = "WebP"
	HEIC Format = "HEIC"
)

// Intake is a photo file as it was read.
type Intake struct {
	File     string // as named by the caller
	Bytes    []byte
	SHA256   string // of Bytes, in hex
	Format   Format
	WidthPx  int // of the upright photo
	HeightPx int

	Orientation int    // EXIF's 1..8, still to be applied to the decoded picture; 1 for HEIC, whose decoder applies it
	TakenAt     string // RFC 3339, without an offset unless EXIF has one; empty when unknown

	FocalMM   float64 // focal length, 0 when unknown
	Focal35MM float64 // 35 mm equivalent, 0 when unknown
	Make      string
	Model     string
	Lens      string

	// Image is the decoded picture, not yet turned, for TIFF, WebP and HEIC; nil for JPEG and PNG,
	// which the measuring part decodes faster from Bytes.
	Image *image.RGBA
}

// Problem is why a file cannot be measured: one sentence for a person, what is wrong and what to do.
type Problem string

func (p Problem) Error() string { return "intake: " + string(p) }

// Read reads a photo file. The error is a Problem where the file is at fault. The Intake names the
// file, and carries the hash and the size in pixels as far as they were found, in any case.
func Read(path string) (*Intake, error) {
	in := &Intake{File: path, Orientation: 1}
	data, err := readFile(path)
	if err != nil {
		return in, err
	}
	return in, in.fill(data)
}

// FromBytes reads a photo that is already in memory, such as an upload; name is only repeated.
func FromBytes(name string, data []byte) (*Intake, error) {
	in := &Intake{File: name, Orientation: 1}
	if len(data) > MaxBytes {
		return in, tooLargeFile(int64(len(data)))
	}
	return in, in.fill(data)
}

// Hash is the SHA-256 of a file in hex as an Intake of it has, empty where Read would not read it.
func Hash(path string) string {
	data, err := readFile(path)
	if err != nil {
		return ""
	}
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

func readFile(path string) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, Problem("there is no such file; check its name")
	case err != nil:
		return nil, unreadable(err)
	case info.IsDir():
		return nil, Problem("this is a folder, not a photo; gristmark batch measures folders")
	case !info.Mode().IsRegular():
		return nil, Problem("this is no regular file; save the photo to a file first")
	case info.Size() > MaxBytes:
		return nil, tooLargeFile(info.Size())
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, unreadable(err)
	}
	defer f.Close()
	var data bytes.Buffer
	data.Grow(int(info.Size()) + bytes.MinRead) // at once, so that nothing is copied
	switch n, err := data.ReadFrom(io.LimitReader(f, MaxBytes+1)); {
	case err != nil:
		return nil, unreadable(err)
	case n > MaxBytes:
		return nil, tooLargeFile(n)
	}
	return data.Bytes(), nil
}

// fill reads what data holds, cheapest questions first.
func (in *Intake) fill(data []byte) error {
	in.Bytes = data
	sum := sha256.Sum256(data)
	in.SHA256 = hex.EncodeToString(sum[:])
	if len(data) == 0 {
		return Problem("the file is empty; copy the photo again")
	}
	format, err := sniff(data)
	if err != nil {
		return err
	}
	in.Format = format
	reader := readers[format]
	if in.WidthPx, in.HeightPx, err = reader.size(data); err != nil {
		return err
	}
	if err := checkSize(in.WidthPx, in.HeightPx); err != nil {
		return err
	}
	if err := reader.whole(data); err != nil {
		return err
	}
	if err := in.readEXIF(); err != nil {
		return err
	}
	if in.Orientation >= 5 {
		in.WidthPx, in.HeightPx = in.HeightPx, in.WidthPx
	}
	if reader.decode == nil {
		return nil
	}
	img, err := reader.decode(data)
	if err != nil {
		return err
	}
	in.Image = rgba(img)
	return in.agree()
}

// rgba gives every picture the one layout that later stages take over fast.
func rgba(img image.Image) *image.RGBA {
	b := img.Bounds()
	out := image.NewRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	draw.Draw(out, out.Rect, img, b.Min, draw.Src)
	return out
}

// agree holds the decoded picture against its header.
func (in *Intake) agree() error {
	size := in.Image.Bounds().Size()
	if in.Orientation >= 5 {
		size.X, size.Y = size.Y, size.X
	}
	in.WidthPx, in.HeightPx = size.X, size.Y
	return checkSize(size.X, size.Y)
}

// reader is how one format is read; each function gets the whole file.
type reader struct {
	size   func([]byte) (width, height int, err error) // from the header alone
	whole  func([]byte) error                          // nil when nothing is missing and there is one picture
	decode func([]byte) (image.Image, error)           // nil where the measuring part decodes
}

var readers = map[Format]reader{
	JPEG: {size: sizeJPEG, whole: wholeJPEG},
	PNG:  {size: sizePNG, whole: wholePNG},
	TIFF: {size: sizeTIFF, whole: wholeTIFF, decode: decodeTIFF},
	WebP: {size: sizeWebP, whole: wholeWebP, decode: decodeWebP},
	HEIC: {size: sizeHEIC, whole: wholeHEIC, decode: decodeHEIC},
}
