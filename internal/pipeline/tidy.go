package pipeline

import (
	"errors"
	"math"

	"gristmark/internal/result"
)

// Decimals of the document: well below what any camera resolves, short enough to read.
const (
	pxDecimals    = 2
	mmDecimals    = 3
	shareDecimals = 4
	scaleDecimals = 7 // mm per px
	labDecimals   = 2
)

func round(v float64, decimals int) float64 {
	p := math.Pow10(decimals)
	return math.Round(v*p) / p
}

func roundAll(decimals int, values ...*float64) {
	for _, v := range values {
		*v = round(*v, decimals)
	}
}

func roundXY(list []result.XY, decimals int) {
	for i := range list {
		list[i] = result.XY{round(list[i][0], decimals), round(list[i][1], decimals)}
	}
}

// tidy rounds a frame's numbers and gives the particles their numbers within the photo. A number that
// is none is a fault of the program, never passed on.
func tidy(f *Frame) error {
	p := &f.Photo
	if p.Particles == nil {
		p.Particles = []result.Particle{}
	}
	if p.Checks == nil {
		p.Checks = []result.Check{}
	}
	f.OutlineMM = nil
	for i := range p.Particles {
		q := &p.Particles[i]
		q.ID = i + 1
		tidyParticle(q)
		if !finite(q.AtPx[0], q.AtPx[1], q.LengthMM, q.WidthMM, q.AreaMM2, q.Probability, q.PWhole, q.PBroken, q.PStover,
			q.MaxFeretMM, q.MinFeretMM, q.PerimeterMM, q.Solidity, q.CentreLineMM, q.Weight) {
			return errors.New("pipeline: a particle was measured as no number, which is a fault of the program")
		}
		f.OutlineMM = append(f.OutlineMM, q.OutlineMM)
	}
	for i := range p.Checks {
		c := &p.Checks[i]
		if !finite(c.Value, c.Limit) {
			return errors.New("pipeline: the check " + c.Name + " gave no number, which is a fault of the program")
		}
		roundAll(shareDecimals, &c.Value, &c.Limit)
		for _, region := range c.RegionsPx {
			roundXY(region, 0)
		}
	}
	if s := p.Scale; s != nil {
		if !finite(s.MMPerPx, s.RelativeSD, s.ResidualPx, s.TiltDeg, s.CameraMM, s.CameraSDMM) {
			return errors.New("pipeline: the scale is no number, which is a fault of the program")
		}
		roundAll(scaleDecimals, &s.MMPerPx, &s.RelativeSD)
		roundAll(mmDecimals, &s.ResidualPx, &s.TiltDeg, &s.CameraMM, &s.CameraSDMM)
	}
	if w := p.White; w != nil {
		roundAll(shareDecimals, &w.SRGB[0], &w.SRGB[1], &w.SRGB[2])
	}
	roundXY(p.Field, pxDecimals)
	roundAll(1, &p.FieldMM2)
	for _, line := range f.Grid {
		roundXY(line, pxDecimals)
	}
	return nil
}

func tidyParticle(q *result.Particle) {
	roundAll(shareDecimals, &q.Probability, &q.PWhole, &q.PBroken, &q.PStover, &q.Solidity, &q.Weight)
	roundAll(mmDecimals, &q.LengthMM, &q.WidthMM, &q.AreaMM2, &q.MaxFeretMM, &q.MinFeretMM, &q.PerimeterMM, &q.CentreLineMM)
	q.AtPx = result.XY{round(q.AtPx[0], pxDecimals), round(q.AtPx[1], pxDecimals)}
	if q.KernelShare != nil {
		share := min(max(round(*q.KernelShare, shareDecimals), 0), 1)
		q.KernelShare = &share
	}
	if c := q.ColourLab; c != nil {
		roundAll(labDecimals, &c[0], &c[1], &c[2])
	}
	roundXY(q.OutlinePx, pxDecimals)
	roundXY(q.OutlineMM, mmDecimals)
}

func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}
