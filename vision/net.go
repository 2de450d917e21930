package vision

import (
	_ "embed"
	"errors"
	"image"
	"math"

	"gocv.io/x/gocv"

	"gristmark/vision/shape"
)

// netONNX is a small U-Net that tells ground, kernel, stover and contact between pieces apart, pixel
// by pixel. internal/fit/net holds its shape, the code that fits it on rendered tuning scenes, and
// the seed. It runs in OpenCV's dnn module.
//
//go:embed net.onnx
var netONNX []byte

const (
	netPxPerMM = 4.5   // resolution that the network is shown; it was fitted on 3 to 6
	maxNetPx   = 0.5e6 // at most, for the time that it takes
	netStep    = 16    // its sides are multiples of this
)

// nets are loaded networks that nobody uses just now; one serves one photo at a time.
var nets = make(chan *gocv.Net, 8)

func takeNet() (*gocv.Net, error) {
	select {
	case n := <-nets:
		return n, nil
	default:
	}
	n, err := gocv.ReadNetFromONNXBytes(netONNX)
	if err != nil {
		return nil, err
	}
	if n.Empty() {
		return nil, errors.New("vision: the built-in network cannot be read")
	}
	return &n, nil
}

func returnNet(n *gocv.Net) {
	select {
	case nets <- n:
	default:
		n.Close()
	}
}

// netMap is what the network says of a part of the work image.
type netMap struct {
	w, h   int
	x0, y0 float64   // work px of its top left corner
	perPx  float64   // net px per work px
	piece  []float32 // log odds of piece against ground
	kernel []float32 // probability of kernel among pieces
	part   []float32 // probability of contact between pieces
}

// judgePixels runs the network over the field's bounding box of the work image.
func (s *search) judgePixels() (*netMap, error) {
	lo, hi := shape.Bounds(s.field.outline)
	box := image.Rect(int(max(0, lo[0]*cellPx)), int(max(0, lo[1]*cellPx)),
		min(int(hi[0]*cellPx), s.work.bgr.w), min(int(hi[1]*cellPx), s.work.bgr.h))
	if box.Dx() < netStep || box.Dy() < netStep {
		return nil, errors.New("vision: the field is too small to look at")
	}
	perPx := math.Min(netPxPerMM/s.pxPerMM, math.Sqrt(maxNetPx/float64(box.Dx()*box.Dy())))
	m := &netMap{x0: float64(box.Min.X), y0: float64(box.Min.Y), perPx: perPx}
	img := shrinkAndPad(&s.work.bgr, box, perPx)
	m.w, m.h = img.w, img.h
	return m, m.run(&img)
}

// shrinkAndPad scales the box of the picture and repeats its right and lower border until the sides
// are multiples of netStep.
func shrinkAndPad(src *labImage, box image.Rectangle, factor float64) labImage {
	size := image.Pt(max(1, int(math.Round(float64(box.Dx())*factor))), max(1, int(math.Round(float64(box.Dy())*factor))))
	full := image.Pt((size.X+netStep-1)/netStep*netStep, (size.Y+netStep-1)/netStep*netStep)
	return src.resizedPart(box, size, full)
}

func (m *netMap) run(img *labImage) error {
	src, err := gocv.NewMatFromBytes(img.h, img.w, gocv.MatTypeCV8UC3, img.pix)
	if err != nil {
		return err
	}
	defer src.Close()
	net, err := takeNet()
	if err != nil {
		return err
	}
	defer returnNet(net)
	blob := gocv.BlobFromImage(src, 1.0/255, image.Pt(img.w, img.h), gocv.NewScalar(127.5, 127.5, 127.5, 0), true, false)
	defer blob.Close()
	net.SetInput(blob, "")
	out := net.Forward("")
	defer out.Close()
	odds, err := out.DataPtrFloat32()
	if err != nil {
		return err
	}
	n := m.w * m.h
	if len(odds) != 4*n {
		return errors.New("vision: the network's output has another size than its input")
	}
	m.piece, m.kernel, m.part = make([]float32, n), make([]float32, n), make([]float32, n)
	for i := range n {
		m.piece[i], m.kernel[i], m.part[i] = pixelOdds(odds[i], odds[n+i], odds[2*n+i], odds[3*n+i])
	}
	return nil
}

func pixelOdds(ground, kernel, stover, contact float32) (piece, share, part float32) {
	top := max(kernel, stover, contact)
	k, s, c := fastExp(kernel-top), fastExp(stover-top), fastExp(contact-top)
	// Contact says nothing of whether it is ground between the pieces or the pieces themselves.
	piece = top + float32(math.Log(float64(max(k+s, 1e-9)))) - ground
	return piece, k / max(k+s, 1e-9), c / (k + s + c)
}

func fastExp(x float32) float32 { return float32(math.Exp(float64(x))) }

// pieceAt interpolates the log odds of piece at a work pixel.
func (m *netMap) pieceAt(x, y int) float32 { return m.interpolate(m.piece, x, y) }

// contactAt interpolates the probability of contact at a work pixel.
func (m *netMap) contactAt(x, y int) float32 { return m.interpolate(m.part, x, y) }

func (m *netMap) interpolate(v []float32, x, y int) float32 {
	fx := (float64(x)+0.5-m.x0)*m.perPx - 0.5
	fy := (float64(y)+0.5-m.y0)*m.perPx - 0.5
	fx = math.Min(math.Max(fx, 0), float64(m.w-1))
	fy = math.Min(math.Max(fy, 0), float64(m.h-1))
	x0, y0 := int(fx), int(fy)
	x1, y1 := min(x0+1, m.w-1), min(y0+1, m.h-1)
	ax, ay := float32(fx-float64(x0)), float32(fy-float64(y0))
	a := v[y0*m.w+x0] + ax*(v[y0*m.w+x1]-v[y0*m.w+x0])
	b := v[y1*m.w+x0] + ax*(v[y1*m.w+x1]-v[y1*m.w+x0])
	return a + ay*(b-a)
}

// index is the net pixel that holds a work pixel.
func (m *netMap) index(x, y int) int {
	nx := int((float64(x) + 0.5 - m.x0) * m.perPx)
	ny := int((float64(y) + 0.5 - m.y0) * m.perPx)
	return min(max(ny, 0), m.h-1)*m.w + min(max(nx, 0), m.w-1)
}
