package pipeline

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"strings"
	"testing"

	"gristmark/calib"
	"gristmark/internal/intake"
	"gristmark/internal/kernels"
	"gristmark/internal/result"
	"gristmark/vision"
)

// stored is the sRGB value 0..1 of linear light (IEC 61966-2-1).
func stored(light float64) float64 {
	if light <= 0.0031308 {
		return 12.92 * light
	}
	return 1.055*math.Pow(min(light, 1), 1/2.4) - 0.055
}

// under is paper of 85 % linear light under light of the given red, green and blue.
func under(gain [3]float64) (white [3]float64) {
	for k := range white {
		white[k] = stored(0.85 * gain[k])
	}
	return white
}

// Usual light stays as it is; what is far from it becomes neutral, and dim light bright, whatever its colour.
func TestGain(t *testing.T) {
	for name, c := range map[string]struct {
		light [3]float64
		note  string
	}{
		"daylight":     {[3]float64{1, 1, 1}, ""},
		"flash":        {[3]float64{0.95, 1, 1.04}, ""},
		"dusk":         {[3]float64{0.63, 0.55, 0.42}, ""},
		"foliage":      {[3]float64{0.75, 1, 0.75}, "green"},
		"magenta":      {[3]float64{1.1, 0.8, 1.1}, "red"},
		"open shade":   {[3]float64{0.7, 0.9, 1.15}, "blue"},
		"old lamp":     {[3]float64{1.15, 0.9, 0.35}, "yellow"},
		"underexposed": {[3]float64{0.2, 0.2, 0.2}, "dark"},
		"dim foliage":  {[3]float64{0.15, 0.2, 0.15}, "green"},
	} {
		l := lightOf(under(c.light))
		gain, ok := l.gain()
		if ok != (c.note != "") {
			t.Errorf("%s: gain %v", name, gain)
			continue
		}
		if !ok {
			if gain != [3]float64{1, 1, 1} {
				t.Errorf("%s: gain %v, but usual", name, gain)
			}
			continue
		}
		if !strings.Contains(l.note(), c.note) {
			t.Errorf("%s: %q", name, l.note())
		}
		var after [3]float64
		for k, v := range under(c.light) {
			after[k] = kernels.Linear(v) * gain[k]
		}
		if math.Abs(after[0]/after[1]-1) > 1e-9 || math.Abs(after[2]/after[1]-1) > 1e-9 || after[1] < usualLight {
			t.Errorf("%s: white comes out as %v", name, after)
		}
	}
}

// Between usual and odd light the correction grows without a step.
func TestGainIsSteady(t *testing.T) {
	last := [3]float64{1, 1, 1}
	for i := range 400 {
		f := math.Exp(-float64(i) / 800)
		gain, _ := lightOf(under([3]float64{f, 1, f})).gain()
		for k := range gain {
			if math.Abs(math.Log(gain[k]/last[k])) > 0.02 {
				t.Fatalf("from %v to %v at %v", last, gain, f)
			}
		}
		last = gain
	}
	if last[0] < 1.6 {
		t.Errorf("gain %v at the end", last)
	}
}

// recoloured is the picture under other light.
func recoloured(t *testing.T, img image.Image, gain [3]float64) []byte {
	t.Helper()
	b := img.Bounds()
	out := image.NewRGBA(b)
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			c := color.RGBAModel.Convert(img.At(x, y)).(color.RGBA)
			at := func(v uint8, k int) uint8 { return uint8(255*stored(kernels.Linear(float64(v)/255)*gain[k]) + 0.5) }
			out.SetRGBA(x, y, color.RGBA{at(c.R, 0), at(c.G, 1), at(c.B, 2), 255})
		}
	}
	var f bytes.Buffer
	if err := jpeg.Encode(&f, out, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return f.Bytes()
}

// sides are the places of pieces and whether each is stover.
type sides map[result.XY]bool

func sidesOf(particles []result.Particle) sides {
	out := sides{}
	for _, p := range particles {
		out[p.AtPx] = p.PStover > 0.5
	}
	return out
}

// unlike is how many pieces of s are not found within 4 px among the others, or are named otherwise.
func (s sides) unlike(others sides) (n int) {
	for at, stover := range s {
		same := false
		for other, is := range others {
			same = same || is == stover && math.Hypot(at[0]-other[0], at[1]-other[1]) < 4
		}
		if !same {
			n++
		}
	}
	return n
}

// A photo under green light is named as it is in daylight, by the white of its card, and says so; as it stands it is not.
func TestCastDoesNotMatter(t *testing.T) {
	in, err := intake.Read("../../samples/gap-1.5/mixed-1.jpg")
	if err != nil {
		t.Fatal(err)
	}
	upright, err := decode(in)
	if err != nil {
		t.Fatal(err)
	}
	defer upright.Close()
	img, err := upright.Image()
	if err != nil {
		t.Fatal(err)
	}
	green := recoloured(t, img, [3]float64{0.62, 0.95, 0.62})
	seen := func(data []byte) *Frame {
		in, err := intake.FromBytes("photo.jpg", data)
		if err != nil {
			t.Fatal(err)
		}
		f, err := measurePhoto(in, DefaultOptions())
		if err != nil || f.Photo.Problem != nil {
			t.Fatal(err, f.Photo.Problem)
		}
		return f
	}
	day, cast := seen(in.Bytes), seen(green)
	want := sidesOf(day.Photo.Particles)
	photo, err := vision.Decode(green, 1)
	if err != nil {
		t.Fatal(err)
	}
	defer photo.Close()
	plane, err := calib.Find(photo.Mat(), calib.Spec{Kind: calib.Auto}, calib.Lens{})
	if err != nil {
		t.Fatal(err)
	}
	asItIs, err := vision.Analyse(photo, plane, visionOptions(plane, calib.Spec{Kind: calib.Auto}, DefaultOptions(), photo.Width(), photo.Height()))
	if err != nil {
		t.Fatal(err)
	}
	balanced, plain := want.unlike(sidesOf(cast.Photo.Particles)), want.unlike(sidesOf(asItIs.Particles))
	t.Logf("%d pieces; otherwise: %d corrected, %d as it is", len(want), balanced, plain)
	if 25*balanced > len(want) || balanced >= plain {
		t.Errorf("of %d pieces %d are seen otherwise, and %d without a correction", len(want), balanced, plain)
	}
	if notes := strings.Join(cast.Notes, ";"); !strings.Contains(notes, "green cast") || strings.Contains(strings.Join(day.Notes, ";"), "cast") {
		t.Errorf("notes %q, in daylight %q", notes, day.Notes)
	}
}

// Without paper the brightest of a picture tells how dim it is, and a speck does not.
func TestBrightEnd(t *testing.T) {
	const w, h = 400, 300
	for name, c := range map[string]struct {
		bright int // px
		want   float64
	}{"a speck": {200, 60. / 255}, "pieces": {6000, 200. / 255}} {
		b := bgr{bytes.Repeat([]byte{20, 60, 40}, w*h), w, h}
		for i := range c.bright {
			copy(b.pix[3*(5000+i):], []byte{90, 180, 200})
		}
		if got := b.brightEnd(); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}
