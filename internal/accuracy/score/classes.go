package score

import (
	"math"

	"gristmark/internal/result"
)

// ManyKernels are the kernel pieces from which the passing share is asked to be near.
const ManyKernels = 80

// lengthClasses are the numbers' names of the shares of stover by length.
var lengthClasses = []string{"over 19 mm", "8 to 19 mm", "4 to 8 mm", "under 4 mm"}

// addClasses notes the largest error of the length classes; none where one of them is absent.
func (f *Family) addClasses(t Truth, s *result.Sample) {
	worst := 0.0
	for _, name := range lengthClasses {
		got, want, ok := stated(name, t, s)
		if !ok {
			return
		}
		worst = math.Max(worst, math.Abs(got-want))
	}
	f.ClassErrors = append(f.ClassErrors, worst)
}

func (f *Family) addPassing(t Truth, s *result.Sample) {
	kernels := 0
	for _, g := range t.Things {
		if g.Class.IsKernel() && !g.Small && !g.Cut {
			kernels++
		}
	}
	if got, want, ok := stated("passing 4.75 mm", t, s); ok && kernels >= ManyKernels {
		f.PassingMany = append(f.PassingMany, got-want)
	}
}

// stated is a number of the sample beside what the scene realised; false where either is absent.
func stated(name string, t Truth, s *result.Sample) (got, want float64, ok bool) {
	want, ok = t.Scene[name]
	for _, n := range Numbers {
		if n.Name == name && ok {
			if e := n.Get(s); e != nil {
				return e.Value, want, true
			}
		}
	}
	return 0, 0, false
}
