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
	closeUpPlanes = 7
	closeUpBatch  = 8 // close-ups that the network is shown at a time; more take memory and save no time
	fineMask      = 4 // the outline is drawn so many times as fine
)

// CloseUpSaid is how many numbers the network says of each: log odds of whole kernel, broken kernel, stover and foreign matter, the log of the height
// above the tray, mm, and by how many pixels of the close-up the outline lies too far out.
const (
	CloseUpSaid = saidOutPx + 1
	saidTall    = 4
	saidOutPx   = 5
)

// closeLook is what the network says of a close-up, closeUpFigures what becomes of it among the features: see CloseUpFeatures.
type (
	closeLook      [CloseUpSaid]float64
	closeUpFigures [CloseUpOdds + 1]float64
)

// CloseUp is a piece seen from near.
type CloseUp struct {
	Pix    []uint8   // closeUpPx rows of as many pixels: blue, green, red, and how much of it the piece covers
	SideMM float64   // length of its sides
	Lean   result.XY // of the line of sight: how many mm a point of the piece seems moved in the photo for each mm that it stands above the tray
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

// lighten multiplies the light of what is seen.
func (c *CloseUp) lighten(gain float64) {
	if gain == 1 {
		return
	}
	t := lifted(gain)
	for i := 0; i < len(c.Pix); i += 4 {
		c.Pix[i], c.Pix[i+1], c.Pix[i+2] = t[c.Pix[i]], t[c.Pix[i+1]], t[c.Pix[i+2]]
	}
}

// leanAt is how the line of sight leans at a px: see CloseUp. It is nothing where the plane does not know the point below the camera.
func leanAt(plane Plane, px result.XY) result.XY {
	foot, height, ok := cameraOver(plane)
	if !ok {
		return result.XY{}
	}
	at := plane.ToMM(px)
	raised := plane.ToPx(result.XY{at[0] + (at[0]-foot[0])/height, at[1] + (at[1]-foot[1])/height})
	mm := plane.MMPerPxAt(px)
	return result.XY{(raised[0] - px[0]) * mm, (raised[1] - px[1]) * mm}
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
	all := make([]view, len(drafts))
	for i := range drafts {
		d := &drafts[i]
		d.closeUp = closeUpOf(&photo, d.OutlinePx, plane.MMPerPxAt(d.AtPx))
		d.closeUp.lighten(d.lift)
		d.closeUp.Lean = leanAt(plane, d.AtPx)
		all[i] = view{CloseUp: &d.closeUp}
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

// view is a close-up as the network is shown it: turned so that the line of sight leans to the right, which shows the sides of all pieces on their right,
// and beyond that by an angle, rad; or the mirror image of that.
type view struct {
	*CloseUp
	by       float64
	mirrored bool
}

// lookClose asks the network what each view shows.
func lookClose(all []view) ([]closeLook, error) {
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
		for i, v := range batch {
			v.fill(planes[i*one : (i+1)*one])
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
	l[CloseUpOdds] = said[saidTall]
	return l
}

// mostOutPx bounds how far what the network says of an outline is followed: with more areas gain nothing, and what it was not fitted on may be anything.
const mostOutPx = 0.2

// outMM is by how many mm, of what the network says of a close-up with sides of sideMM, the outline lies too far out; less than nothing where it lies too
// far in.
func (l *closeLook) outMM(sideMM float64) float64 {
	return math.Max(-mostOutPx, math.Min(mostOutPx, l[saidOutPx])) * sideMM / closeUpPx
}

// Heights of pieces, mm.
const (
	leastTall = 0.02
	mostTall  = 14
)

// heightMM is the height above the tray, leastTall to mostTall, with which the piece's area comes out right when its outline is turned into that seen
// from straight above. It was fitted on rendered pieces whose heights are common practice: an assumption that the scale's doubt does not cover.
func (l *closeLook) heightMM() float64 {
	return math.Max(leastTall, math.Min(mostTall, math.Exp(l[saidTall])))
}

// fill writes the view's planes: red, green, blue, and how much is covered, each less a half, the log of its side, and the lean to the right and down.
func (v *view) fill(planes []float32) {
	const n, middle = closeUpPx * closeUpPx, (closeUpPx - 1) / 2.0
	sin, cos := math.Sincos(math.Atan2(v.Lean[1], v.Lean[0]) + v.by)
	way := [4]float64{cos, sin, -sin, cos}
	if v.mirrored {
		way[2], way[3] = sin, -cos
	}
	pix := redrawn(v.Pix, closeUpPx, [6]float64{
		way[0], way[1], middle * (1 - way[0] - way[1]), way[2], way[3], middle * (1 - way[2] - way[3])})
	flat := [3]float32{float32(math.Log2(v.SideMM / 8)), float32(way[0]*v.Lean[0] + way[1]*v.Lean[1]), float32(way[2]*v.Lean[0] + way[3]*v.Lean[1])}
	for i := range n {
		p := pix[4*i : 4*i+4 : 4*i+4]
		for k, from := range [4]int{2, 1, 0, 3} {
			planes[k*n+i] = float32(p[from])/255 - 0.5
		}
		for k, same := range flat {
			planes[(4+k)*n+i] = same
		}
	}
}
