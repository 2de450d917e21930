package vision

import "math"

// Kernels of one crop differ by a good tenth in area; what is much larger is none, whatever it looks like.
const (
	largeFrom  = 1.45 // times the unbroken kernel's area
	largeSteep = 5.0  // decay of the odds per kernel's area beyond
)

// tooLarge lowers the odds of kernel for a piece of share times the unbroken kernel's area.
func tooLarge(p odds4, share float64) odds4 {
	return hardlyKernel(p, math.Exp(-largeSteep*math.Max(0, share-largeFrom)))
}

// Of 81,000 broken kernels that were drawn, 15 are more than slenderFrom times as long as wide: in a tray of kernels alone what is more so is a scratch or
// a hair, or else a straw, not a kernel for want of anything else.
const (
	slenderFrom  = 6.0
	slenderSteep = 1.5 // decay of the odds per unit of aspect beyond
)

// tooSlender lowers the odds of kernel for a piece whose largest Feret diameter is aspect times its smallest.
func tooSlender(p odds4, aspect float64) odds4 {
	return hardlyKernel(p, math.Exp(-slenderSteep*math.Max(0, aspect-slenderFrom)))
}

// hardlyKernel lowers the odds of kernel by a factor.
func hardlyKernel(p odds4, f float64) odds4 {
	p[0], p[1] = p[0]*f, p[1]*f
	return normalised(p)
}
