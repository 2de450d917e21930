package estimate

import (
	"math"

	"gristmark/internal/kernel"
	"gristmark/internal/result"
)

// What a photo shows; it decides which estimates are made.
const (
	ShowKernels = "kernels" // washed-out kernels: no estimates of chop length
	ShowPieces  = "pieces"  // screened or loose fodder: no estimates of kernel processing
	ShowMixed   = "mixed"
)

// Options of Sample. The zero value means the documented defaults.
type Options struct {
	Show      string          // ShowKernels, ShowPieces or ShowMixed (default)
	Kernel    kernel.Unbroken // of this crop; zero: the default kernel
	Level     float64         // of intervals, default 0.95
	Seed      uint64          // of the resampling, any
	Resamples int             // default 1000
}

func (o Options) filled() Options {
	if !(o.Kernel.AreaMM2 > 0) {
		o.Kernel = kernel.Default()
	}
	if !(o.Level > 0 && o.Level < 1) {
		o.Level = 0.95
	}
	if o.Resamples <= 1 {
		o.Resamples = 1000
	}
	return o
}

// Sample is what the photos of one sample say together; nil where none was measured. Verdict and advice are left to others.
func Sample(photos []result.Photo, opt Options) *result.Sample {
	opt = opt.filled()
	spreads := gather(photos)
	if len(spreads) == 0 {
		return nil
	}
	m := newModel(Unbroken(photos, opt))
	m.smallestMM = SmallestMM(photos)
	t := tally(m, spreads)
	f := draw(t, opt)
	return &result.Sample{
		Kernels: kernels(t, f, opt),
		Pieces:  pieces(t, f, opt),
		Notes:   notes(photos, spreads),
	}
}

// SmallestMM is the smallest particle that the photos can be trusted to show: 6 px of the coarsest, and at least 0.9 mm.
func SmallestMM(photos []result.Photo) float64 {
	smallest := 0.9
	for _, p := range photos {
		if p.Status == result.Measured && p.DuplicateOf == "" && p.Scale != nil {
			smallest = max(smallest, 6*p.Scale.MMPerPx)
		}
	}
	return math.Ceil(smallest*100-1e-9) / 100
}

// surelyWhole is the probability from which a kernel helps to say how large an unbroken one is.
const surelyWhole = 0.8

// Unbroken is the mean unbroken kernel of the lot, from the photos where they show enough.
func Unbroken(photos []result.Photo, opt Options) kernel.Unbroken {
	var areas []float64
	for _, s := range gather(photos) {
		for i, p := range s.pieces {
			if p.pWhole >= surelyWhole && p.sized && i%s.shots == 0 {
				areas = append(areas, p.area)
			}
		}
	}
	return kernel.FromWhole(areas, opt.filled().Kernel)
}

// Shares sets KernelShare of every particle of the photos: nil for stover.
func Shares(photos []result.Photo, opt Options) {
	u := Unbroken(photos, opt)
	for i := range photos {
		for j := range photos[i].Particles {
			p := &photos[i].Particles[j]
			p.KernelShare = nil
			if p.Class != result.Stover {
				share := u.Share(p.AreaMM2)
				p.KernelShare = &share
			}
		}
	}
}
