package web

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"sync"

	"github.com/disintegration/imaging"

	"gristmark/internal/intake"
)

// Sizes of reduced pictures, px: one in a list, one that fills a screen.
const (
	smallPx  = 640
	screenPx = 2000
)

// reducer makes small copies of pictures, few at a time, and keeps the last ones.
type reducer struct {
	busy chan struct{} // one photo of 12 megapixels takes some 50 MB while it is decoded
	mu   sync.Mutex
	kept map[string][]byte
	age  []string
}

const keptPictures = 200

func newReducer() *reducer {
	return &reducer{busy: make(chan struct{}, 2), kept: map[string][]byte{}}
}

// once gives the picture of that name, made the first time that it is asked for.
func (r *reducer) once(name string, work func() ([]byte, error)) ([]byte, error) {
	r.mu.Lock()
	data, ok := r.kept[name]
	r.mu.Unlock()
	if ok {
		return data, nil
	}
	r.busy <- struct{}{}
	defer func() { <-r.busy }()
	data, err := work()
	if err != nil {
		return nil, err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if _, ok := r.kept[name]; !ok {
		r.kept[name] = data
		if r.age = append(r.age, name); len(r.age) > keptPictures {
			delete(r.kept, r.age[0])
			r.age = r.age[1:]
		}
	}
	return data, nil
}

// mostPixels bounds a photo that is decoded to be shown: 4 bytes a pixel, and half of that again for the smaller copy.
const mostPixels = 50e6

var errTooLarge = errors.New("web: the photo is too large to be shown")

// big lets one photo be decoded at a time where its picture may be a large one.
var big sync.Mutex

// decode reads any photo upright; what is too large or cut off is refused before it takes memory.
func decode(name string, data []byte) (image.Image, error) {
	big.Lock()
	defer big.Unlock()
	in, err := intake.FromBytes(name, data)
	if err != nil {
		return nil, err
	}
	if float64(in.WidthPx)*float64(in.HeightPx) > mostPixels {
		return nil, errTooLarge
	}
	if in.Image != nil {
		return turn(in.Image, in.Orientation), nil
	}
	return imaging.Decode(bytes.NewReader(data), imaging.AutoOrientation(true))
}

// turn makes a picture upright by the EXIF orientation.
func turn(m image.Image, orientation int) image.Image {
	switch orientation {
	case 2:
		return imaging.FlipH(m)
	case 3:
		return imaging.Rotate180(m)
	case 4:
		return imaging.FlipV(m)
	case 5:
		return imaging.Transpose(m)
	case 6:
		return imaging.Rotate270(m)
	case 7:
		return imaging.Transverse(m)
	case 8:
		return imaging.Rotate90(m)
	}
	return m
}

// within writes a picture as a JPEG of at most so many px a side.
func within(m image.Image, most, quality int) ([]byte, error) {
	var b bytes.Buffer
	err := jpeg.Encode(&b, imaging.Fit(m, most, most, imaging.Linear), &jpeg.Options{Quality: quality})
	return b.Bytes(), err
}

// cutOut is the surroundings of a position, enlarged, with a ring about it; at and size in px of the picture.
func cutOut(m image.Image, x, y, size float64) ([]byte, error) {
	half := max(size, 40)
	box := image.Rect(int(x-half*4/3), int(y-half), int(x+half*4/3), int(y+half))
	part := imaging.Resize(imaging.Crop(m, box.Intersect(m.Bounds())), 720, 0, imaging.Linear)
	scale := 720 / float64(box.Intersect(m.Bounds()).Dx())
	inner := box.Intersect(m.Bounds()).Min
	ring(part, (x-float64(inner.X))*scale, (y-float64(inner.Y))*scale, size*scale*.75)
	var b bytes.Buffer
	err := jpeg.Encode(&b, part, &jpeg.Options{Quality: 80})
	return b.Bytes(), err
}

// ring draws a white circle of 4 px.
func ring(m *image.NRGBA, cx, cy, r float64) {
	for y := m.Rect.Min.Y; y < m.Rect.Max.Y; y++ {
		for x := m.Rect.Min.X; x < m.Rect.Max.X; x++ {
			dx, dy := float64(x)+.5-cx, float64(y)+.5-cy
			if d := dx*dx + dy*dy; d >= (r-2)*(r-2) && d <= (r+2)*(r+2) {
				m.SetNRGBA(x, y, color.NRGBA{255, 255, 255, 255})
			}
		}
	}
}
