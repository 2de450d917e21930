package vision

import (
	_ "embed"
	"errors"
	"image"
	"math"

	"gocv.io/x/gocv"
)

// netONNX is a small U-Net that tells ground, whole and broken kernel, stover and contact between pieces apart, pixel
// by pixel. internal/fit/net holds its shape, the code that fits it on rendered tuning scenes, and
// the seed. It runs in OpenCV's dnn module.
//
//go:embed net.onnx
var netONNX []byte

const (
	netPxPerMM = 4.0   // resolution that the network is shown; it was fitted on 2 to 5
	maxNetPx   = 0.9e6 // at most, for the time that it takes
	netStep    = 16    // its sides are multiples of this
)

// contactWeight is the logarithm of the weight that contact had in the fit: without it the odds are of
// what is seen, not of what was shown.
var contactWeight = float32(math.Log(10))

var nets = newNetPool(netONNX)

// netMap is what the network says of a part of the work image.
type netMap struct {
	w, h   int
	x0, y0 float64   // work px of its top left corner
	perPx  float64   // net px per work px
	piece  []float32 // log odds of piece against ground
	kernel []float32 // probability of kernel among pieces
	whole  []float32 // probability of whole kernel among pieces
	part   []float32 // probability of contact between pieces

	across []netColumn // of the work image's columns, when they were first asked for
}

// judgePixels runs the network over the field's bounding box of the work image.
func (s *search) judgePixels() (*netMap, error) {
	lo, hi := s.beyond.box(s.field.outline, s.pxPerMM)
	return s.judge(image.Rect(int(lo[0]), int(lo[1]), min(int(hi[0]), s.work.bgr.w), min(int(hi[1]), s.work.bgr.h)), maxNetPx)
}

var errTooSmall = errors.New("vision: the field is too small to look at")

// judge runs the network over a box of the work image, with at most so many net px.
func (s *search) judge(box image.Rectangle, most float64) (*netMap, error) {
	if box.Dx() < netStep || box.Dy() < netStep {
		return nil, errTooSmall
	}
	perPx := math.Min(netPxPerMM/s.pxPerMM, math.Sqrt(most/float64(box.Dx()*box.Dy())))
	m := &netMap{x0: float64(box.Min.X), y0: float64(box.Min.Y), perPx: perPx}
	img := shrinkAndPad(&s.work.bgr, box, perPx)
	s.level.lift(&img, box, perPx)
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
	net, err := nets.take()
	if err != nil {
		return err
	}
	defer nets.giveBack(net)
	blob := gocv.BlobFromImage(src, 1.0/255, image.Pt(img.w, img.h), gocv.NewScalar(127.5, 127.5, 127.5, 0), true, false)
	defer blob.Close()
	return forward(net, blob, netSaid*m.w*m.h/4, m.read)
}

// netSaid is how many numbers the network says of each square of two by two pixels: log odds of ground, whole kernel, broken kernel, stover and contact, of each
// the square's four pixels, row by row.
const netSaid = 5 * 4

// read takes over what the network says, a picture of half the size a number.
func (m *netMap) read(said []float32) {
	n, half := m.w*m.h, m.w/2
	all := make([]float32, 4*n)
	m.piece, m.kernel, m.whole, m.part = all[:n], all[n:2*n], all[2*n:3*n], all[3*n:]
	of := func(what, pixel int) []float32 { return said[(4*what+pixel)*n/4:][:n/4] }
	for pixel := range 4 {
		ground, whole, broken, stover, contact := of(0, pixel), of(1, pixel), of(2, pixel), of(3, pixel), of(4, pixel)
		for y := range m.h / 2 {
			at := (2*y+pixel/2)*m.w + pixel%2
			for i := y * half; i < (y+1)*half; i++ {
				m.piece[at], m.kernel[at], m.whole[at], m.part[at] = pixelOdds(ground[i], whole[i], broken[i], stover[i], contact[i])
				at += 2
			}
		}
	}
}

// surelyGround is by how much the log odds of ground must exceed all others for a pixel to be nothing else: the other shares are not worked out there.
const surelyGround = 8

// pixelOdds turns log odds of ground, whole kernel, broken kernel, stover and contact into log odds of piece against ground,
// the shares of kernel and of whole kernel among pieces, and the probability of contact.
func pixelOdds(ground, whole, broken, stover, contact float32) (piece, kernel, unbroken, part float32) {
	top := max(whole, broken, stover)
	if ground-top > surelyGround {
		return top - ground, 0, 0, 0
	}
	w, b, s := fastExp(whole-top), fastExp(broken-top), fastExp(stover-top)
	all := w + b + s
	return top + float32(math.Log(float64(all))) - ground, (w + b) / all, w / all, 1 / (1 + fastExp(contactWeight-contact))
}

func fastExp(x float32) float32 { return float32(math.Exp(float64(x))) }

// contactAt interpolates the probability of contact at a work pixel.
func (m *netMap) contactAt(x, y int) float32 {
	column, row := m.column(x), m.row(y)
	return m.lerp(m.part, &column, &row)
}

// netColumn is where a work column lies on the map: between columns a and b, f of the way.
type netColumn struct {
	a, b, index int // index: of the column that holds it
	f           float32
}

// netRow is where a work row lies, between the rows that begin at a and b.
type netRow netColumn

func (m *netMap) column(x int) netColumn {
	a, b, f := between((float64(x)+0.5-m.x0)*m.perPx-0.5, m.w)
	return netColumn{a, b, m.index(x, 0) % m.w, f}
}

func (m *netMap) row(y int) netRow {
	a, b, f := between((float64(y)+0.5-m.y0)*m.perPx-0.5, m.h)
	return netRow{a * m.w, b * m.w, m.index(0, y) / m.w * m.w, f}
}

// columns are those of w work columns.
func (m *netMap) columns(w int) []netColumn {
	if len(m.across) != w {
		m.across = make([]netColumn, w)
		for x := range m.across {
			m.across[x] = m.column(x)
		}
	}
	return m.across
}

// between clamps a position among n and divides it.
func between(at float64, n int) (a, b int, f float32) {
	at = math.Min(math.Max(at, 0), float64(n-1))
	a = int(at)
	return a, min(a+1, n-1), float32(at - float64(a))
}

// lerp interpolates v.
func (m *netMap) lerp(v []float32, column *netColumn, row *netRow) float32 {
	up, low := v[row.a:], v[row.b:]
	a := up[column.a] + column.f*(up[column.b]-up[column.a])
	b := low[column.a] + column.f*(low[column.b]-low[column.a])
	return a + row.f*(b-a)
}

// holds reports whether the network was shown a work pixel.
func (m *netMap) holds(x, y int) bool {
	nx, ny := (float64(x)+0.5-m.x0)*m.perPx, (float64(y)+0.5-m.y0)*m.perPx
	return nx >= 0 && ny >= 0 && nx < float64(m.w) && ny < float64(m.h)
}

// index is the net pixel that holds a work pixel.
func (m *netMap) index(x, y int) int {
	nx := int((float64(x) + 0.5 - m.x0) * m.perPx)
	ny := int((float64(y) + 0.5 - m.y0) * m.perPx)
	return min(max(ny, 0), m.h-1)*m.w + min(max(nx, 0), m.w-1)
}
