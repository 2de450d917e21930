package vision

import "math"

// Whole numbers by which 8-bit sRGB becomes 8-bit CIE L*a*b* under D65 (IEC 61966-2-1, CIE 15): light in steps of 1/8 of a level, tristimulus values over the
// white point's by weights of 12 bits, cube roots of 15 bits.
const (
	lightBits  = 3
	weightBits = 12
	rootBits   = weightBits + lightBits
	halfWeight = 1 << (weightBits - 1)
	halfRoot   = 1 << (rootBits - 1)

	lightnessScale = (116*255 + 50) / 100
	lightnessShift = (16*255*(1<<rootBits) + 50) / 100
	middle         = 128 << rootBits // of a* and b*
)

// tristimulus are the shares of blue, green and red in X, Y and Z over those of white.
var tristimulus = [3][3]float64{
	{0.180423 / 0.950456, 0.357580 / 0.950456, 0.412453 / 0.950456},
	{0.072169, 0.715160, 0.212671},
	{0.950227 / 1.088754, 0.119193 / 1.088754, 0.019334 / 1.088754},
}

// labTables hold what each level of blue, green and red adds to X, Y and Z, and the cube roots of those.
type labTables struct {
	adds [3][256]lightXYZ
	root [1 << 11]int32 // of X, Y and Z of the lights there are
}

// lightXYZ is what a level adds to X and Y, in the lower and upper half, and to Z.
type lightXYZ struct {
	xy uint64
	z  uint32
}

var inLab = newLabTables()

func newLabTables() (t labTables) {
	for level := range 256 {
		light := int32(math.RoundToEven((1 << lightBits) * float64(linear[level])))
		for channel := range t.adds {
			var add [3]uint32
			for k, of := range tristimulus {
				add[k] = uint32(light * int32(math.RoundToEven(of[channel]*(1<<weightBits))))
				if channel == 0 { // once a pixel, so that the sum is rounded
					add[k] += halfWeight
				}
			}
			t.adds[channel][level] = lightXYZ{uint64(add[0]) | uint64(add[1])<<32, add[2]}
		}
	}
	for i := range t.root {
		root := float32(labRoot(float64(i) / (255 << lightBits))) // single precision, as OpenCV has it
		t.root[i] = int32(math.RoundToEven(float64((1 << rootBits) * root)))
	}
	return t
}

// labRoot is the cube root of CIE 15, a straight line near black.
func labRoot(t float64) float64 {
	if t < 216.0/24389 {
		return t*841/108 + 16.0/116
	}
	return math.Cbrt(t)
}

// rootOf is the cube root of what levels add up to.
func (t *labTables) rootOf(sum uint32) int32 { return t.root[sum>>weightBits%uint32(len(t.root))] }

// toLab converts 8-bit BGR into lab, which has the same size: to the byte what OpenCV's cvtColor gives, which works out a table for other
// pictures first, 0.07 s at each start of a program.
func (m *labImage) toLab(lab *labImage) {
	blue, green, red := &inLab.adds[0], &inLab.adds[1], &inLab.adds[2]
	to := lab.pix[:len(m.pix)]
	for i := 0; i+2 < len(m.pix); i += 3 {
		p, q := m.pix[i:i+3:i+3], to[i:i+3:i+3]
		b, g, r := &blue[p[0]], &green[p[1]], &red[p[2]]
		xy := b.xy + g.xy + r.xy
		x, y, z := inLab.rootOf(uint32(xy)), inLab.rootOf(uint32(xy>>32)), inLab.rootOf(b.z+g.z+r.z)
		q[0] = uint8((lightnessScale*y - lightnessShift + halfRoot) >> rootBits)
		q[1] = uint8((500*(x-y) + middle + halfRoot) >> rootBits)
		q[2] = uint8((200*(y-z) + middle + halfRoot) >> rootBits)
	}
}
