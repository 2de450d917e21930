package vision

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// surface is a smooth colour over the picture: a polynomial of second order in the position, a
// channel each of (L*+16, a*, b*), positions scaled to -1..1. It stands for the tray under light
// that falls off slowly.
type surface struct {
	w, h float64
	coef [3][6]float64
}

func (s *surface) basis(x, y float64) [6]float64 {
	u, v := 2*x/s.w-1, 2*y/s.h-1
	return [6]float64{1, u, v, u * u, u * v, v * v}
}

// row evaluates the surface at height y for the centres of all columns.
func (s *surface) row(y float64, dst [][3]float32) {
	v := 2*y/s.h - 1
	var k [3][3]float64 // of powers of u
	for ch, c := range s.coef {
		k[ch] = [3]float64{c[0] + v*(c[2]+v*c[5]), c[1] + v*c[4], c[3]}
	}
	for x := range dst {
		u := (2*float64(x)+1)/s.w - 1
		for ch := range k {
			dst[x][ch] = float32(k[ch][0] + u*(k[ch][1]+u*k[ch][2]))
		}
		dst[x][0] = max(dst[x][0], 16)
	}
}

// fitSurface fits the cells for which keep is true, by least squares with a small ridge that holds
// the higher orders at zero where the cells do not reach.
func fitSurface(m *labImage, keep []bool) surface {
	s := surface{w: float64(m.w), h: float64(m.h)}
	var ata [6][6]float64
	var atb [3][6]float64
	n := 0
	for i := 0; i < len(keep); i += 3 {
		if !keep[i] {
			continue
		}
		b := s.basis(float64(i%m.w)+0.5, float64(i/m.w)+0.5)
		c := m.at(i)
		for r := range b {
			for q := range r + 1 { // the other half is its mirror image
				ata[r][q] += b[r] * b[q]
			}
			for ch := range c {
				atb[ch][r] += b[r] * float64(c[ch])
			}
		}
		n++
	}
	for r := range ata {
		for q := range r {
			ata[q][r] = ata[r][q]
		}
	}
	ridge := 0.002*float64(n) + 1e-6
	for r := 1; r < 6; r++ {
		ata[r][r] += ridge
	}
	ata[0][0] += 1e-9
	s.solve(&ata, &atb)
	return s
}

func (s *surface) solve(ata *[6][6]float64, atb *[3][6]float64) {
	a := mat.NewDense(6, 6, nil)
	for r := range ata {
		a.SetRow(r, ata[r][:])
	}
	for ch := range atb {
		var x mat.VecDense
		if x.SolveVec(a, mat.NewVecDense(6, atb[ch][:])) != nil {
			continue
		}
		for k := range 6 {
			if v := x.AtVec(k); !math.IsNaN(v) {
				s.coef[ch][k] = v
			}
		}
	}
}
