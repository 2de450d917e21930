package vision

import (
	"math"
	"testing"
)

// What is far larger or far more slender than any kernel loses its odds of being one to the rest as they stand to each other; what is not
// keeps them.
func TestImplausibleKernels(t *testing.T) {
	p := odds4{0.3, 0.5, 0.15, 0.05}
	for _, got := range []odds4{tooLarge(p, largeFrom), tooSlender(p, slenderFrom), tooSlender(p, 1)} {
		for k := range p {
			if math.Abs(got[k]-p[k]) > 1e-12 {
				t.Errorf("%v, want %v", got, p)
			}
		}
	}
	for _, got := range []odds4{tooLarge(p, largeFrom+1), tooSlender(p, slenderFrom+4)} {
		if got[0]+got[1] > 0.05 || math.Abs(got[2]/got[3]-3) > 1e-9 || math.Abs(got[0]/got[1]-0.6) > 1e-9 || math.Abs(got[0]+got[1]+got[2]+got[3]-1) > 1e-9 {
			t.Errorf("%v of %v", got, p)
		}
	}
}
