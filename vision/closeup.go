package vision

import (
	_ "embed"
	"image"
	"math"
	"slices"

	"gocv.io/x/gocv"
	"gonum.org/v1/gonum/floats"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// closeUpONNX is a small network that looks at each piece by itself, on the full photo: what its surface and its edges look like tells more
// than the figures that sum them up. internal/fit/net holds its shape, the code that fits it, and the seed; internal/fit/closeup takes the close-ups
// of rendered tuning scenes. It runs in OpenCV's dnn module.
//
//go:embed closeup.onnx
var closeUpONNX []byte

var closeUpNets = newNetPool(closeUpONNX)

// A close-up is a square of closeUpPx pixels a side round a piece, closeUpRoom times as wide as the piece is long, within limits, mm.
const (
	closeUpPx     = 48
	closeUpRoom   = 1.35
	leastCloseMM  = 5
	mostCloseMM   = 18
	closeUpPlanes = 5
	closeUpBatch  = 8 // close-ups that the network is shown at a time; more take memory and save no time
	fineMask      = 4 // the outline is drawn so many times as fine
)

// CloseUpSaid is how many numbers the network says of each: log odds of whole kernel, broken kernel, stover and foreign matter, and the log of the
// height above the tray, mm.
const CloseUpSaid = 5

// closeLook is what the network says of a close-up, closeUpFigures what becomes of it among the features: see CloseUpFeatures.
type (
	closeLook      [CloseUpSaid]float64
	closeUpFigures [CloseUpSaid - 1]float64
)

// CloseUp is a piece seen from near.
type CloseUp struct {
	Pix    []uint8 // closeUpPx rows of as many pixels: blue, green, red, and how much of it the piece covers
	SideMM float64 // length of its sides
}

// closeUpOf cuts the surroundings of an outline, photo px, out of the photo. They are moved inside of it where they reach beyond.
func closeUpOf(photo *labImage, o []result.XY, mmPerPx float64) CloseUp {
	lo, hi := shape.Bounds(o)
	long := shape.MaxFeret(o).Length * mmPerPx
	side := min(int(math.Max(leastCloseMM, math.Min(mostCloseMM, closeUpRoom*long))/mmPerPx+0.5), photo.w, photo.h)
	side = max(side, 1)
	box := image.Rect(0, 0, side, side).Add(image.Pt(
		min(max(int((lo[0]+hi[0]-float64(side))/2+0.5), 0), photo.w-side),
		min(max(int((lo[1]+hi[1]-float64(side))/2+0.5), 0), photo.h-side)))
	size := image.Pt(closeUpPx, closeUpPx)
	bgr := photo.resizedPart(box, size, size)
	cover := coverage(o, box)
	c := CloseUp{Pix: make([]uint8, 0, 4*closeUpPx*closeUpPx), SideMM: float64(side) * mmPerPx}
	for i, n := range cover {
		c.Pix = append(append(c.Pix, bgr.pix[3*i:3*i+3]...), uint8(min(int(n), fineMask*fineMask)*255/(fineMask*fineMask)))
	}
	return c
}

// coverage is how much of each pixel of a close-up of the box lies inside the outline, in parts of fineMask by fineMask; some more where an outline
// crosses itself.
func coverage(o []result.XY, box image.Rectangle) (n [closeUpPx * closeUpPx]uint8) {
	f := fineMask * closeUpPx / float64(box.Dx())
	fine := make([]result.XY, len(o))
	for i, p := range o {
		fine[i] = result.XY{(p[0] - float64(box.Min.X)) * f, (p[1] - float64(box.Min.Y)) * f}
	}
	eachSpan(fine, fineMask*closeUpPx, fineMask*closeUpPx, func(y, x0, x1 int) {
		for x := x0; x <= x1; x++ {
			n[y/fineMask*closeUpPx+x/fineMask]++
		}
	})
	return n
}

// seeClose takes the close-up of each draft and what the network says of it.
func seeClose(drafts []draft, p *Photo, plane Plane) error {
	photo := labImage{p.Width(), p.Height(), p.pixels()}
	all := make([]CloseUp, len(drafts))
	for i := range drafts {
		d := &drafts[i]
		d.closeUp = closeUpOf(&photo, d.OutlinePx, plane.MMPerPxAt(d.AtPx))
		all[i] = d.closeUp
	}
	said, err := lookClose(all)
	if err != nil {
		return err
	}
	for i := range drafts {
		drafts[i].hear(said[i])
	}
	return nil
}

// hear takes over what the network says of the draft's close-up.
func (d *draft) hear(said closeLook) {
	d.said, d.inside.closeUp = said, CloseUpFeatures(said[:])
}

// lookClose asks the network what each close-up shows.
func lookClose(all []CloseUp) ([]closeLook, error) {
	if len(all) == 0 {
		return nil, nil
	}
	net, err := closeUpNets.take()
	if err != nil {
		return nil, err
	}
	defer closeUpNets.giveBack(net)
	in := gocv.NewMatWithSizes([]int{closeUpBatch, closeUpPlanes, closeUpPx, closeUpPx}, gocv.MatTypeCV32F)
	defer in.Close()
	planes, err := in.DataPtrFloat32()
	if err != nil {
		return nil, err
	}
	const one = closeUpPlanes * closeUpPx * closeUpPx
	out := make([]closeLook, 0, len(all))
	for batch := range slices.Chunk(all, closeUpBatch) {
		for i := range batch {
			batch[i].fill(planes[i*one : (i+1)*one])
		}
		err := forward(net, in, closeUpBatch*CloseUpSaid, func(said []float32) {
			for i := range batch {
				out = append(out, lookOf(said[i*CloseUpSaid:(i+1)*CloseUpSaid]))
			}
		})
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

func lookOf(said []float32) (l closeLook) {
	for k := range l {
		l[k] = float64(said[k])
	}
	return l
}

// surestClose is how far the log probabilities of a close-up go down at most: a piece unlike any that was fitted on is not named for certain.
const surestClose = 8

// CloseUpFeatures are the features that come of the CloseUpSaid numbers that the network says: the log probabilities of whole kernel, broken kernel and
// stover if the piece is one of them, at least -surestClose, and the log of the height. So what is surely a broken kernel, if of the crop at all, is no
// likelier to be of the crop. The network's word on that is left aside: it knows the stones and drops that were drawn, and takes real grains
// of another crop, coins, and what the photo's edge cuts for such.
func CloseUpFeatures(said []float64) (l closeUpFigures) {
	all := floats.LogSumExp(said[:CloseUpOdds])
	for k := range CloseUpOdds {
		l[k] = math.Max(said[k]-all, -surestClose)
	}
	l[CloseUpOdds] = said[CloseUpSaid-1]
	return l
}

// fill writes the close-up's planes: red, green, blue, and how much is covered, each less a half, and the log of its side.
func (c *CloseUp) fill(planes []float32) {
	const n = closeUpPx * closeUpPx
	side := float32(math.Log2(c.SideMM / 8))
	for i := range n {
		p := c.Pix[4*i : 4*i+4 : 4*i+4]
		for k, from := range [4]int{2, 1, 0, 3} {
			planes[k*n+i] = float32(p[from])/255 - 0.5
		}
		planes[4*n+i] = side
	}
}
