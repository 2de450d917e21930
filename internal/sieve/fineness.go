package sieve

import "math"

// Fineness is what the sieving of ground feed tells of its grains.
type Fineness struct {
	SurfaceCM2PerG   float64 `json:"surface_cm2_per_g"`
	ParticlesPerGram float64 `json:"particles_per_g"`
}

// GroundFeed gives surface and number of particles from the geometric mean diameter, mm, and the geometric
// standard deviation, a factor, for cubes of 1.32 g/cm³. ANSI/ASAE S319.4, formulas from memory.
func GroundFeed(meanMM, sd float64) Fineness {
	const density, surfaceShape, volumeShape = 1.32, 6.0, 1.0
	cm, l := meanMM/10, math.Log(sd)
	return Fineness{
		SurfaceCM2PerG:   surfaceShape / (density * volumeShape * cm) * math.Exp(0.5*l*l),
		ParticlesPerGram: math.Exp(4.5*l*l) / (density * volumeShape * cm * cm * cm),
	}
}
