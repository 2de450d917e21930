package rulers

import (
	"runtime"
	"slices"
	"syscall"
	"time"

	"gristmark/calib"
	"gristmark/internal/pages"
	"gristmark/vision"
)

// Timing is what finding a ruler takes in a photo of 12 megapixels, in processor time.
type Timing struct {
	Ruler  string
	Decode time.Duration // of the JPEG
	Find   time.Duration
	Found  bool
}

// Over is the time of finding over that of the decode.
func (t Timing) Over() float64 { return float64(t.Find) / float64(t.Decode) }

// Time takes the median of so many turns on the first scene of a ruler, by one thread and in ordinary pages of memory.
func Time(ruler Ruler, seed uint64, turns int) (Timing, error) {
	if err := pages.Ordinary(); err != nil {
		return Timing{}, err
	}
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	out := Timing{Ruler: ruler.Name}
	s := ruler.Draw(seed, Large)
	data, err := s.JPEG()
	if err != nil {
		return out, err
	}
	var decodes, finds []time.Duration
	for range turns {
		began := used()
		photo, err := vision.Decode(data, 1)
		if err != nil {
			return out, err
		}
		decoded := used()
		_, fault := calib.Find(photo.Mat(), s.Spec, s.Lens)
		found := used()
		photo.Close()
		out.Found = fault == nil
		decodes, finds = append(decodes, decoded-began), append(finds, found-decoded)
	}
	slices.Sort(decodes)
	slices.Sort(finds)
	out.Decode, out.Find = decodes[turns/2], finds[turns/2]
	return out, nil
}

// used is the processor time of the program so far.
func used() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
