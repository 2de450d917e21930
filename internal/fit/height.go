package main

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// fitHeight fits the log of the height above the tray to the standardised features, by least squares
// with a ridge, over the pieces whose height is known.
func (n *perceptron) fitHeight(train []example) error {
	in := n.in + 1
	ata := mat.NewSymDense(in, nil)
	atb := mat.NewVecDense(in, nil)
	z, h := make([]float64, n.in), make([]float64, n.hidden)
	for _, e := range train {
		if e.tall <= 0 {
			continue
		}
		n.forward(e.x, z, h)
		row := mat.NewVecDense(in, append(append([]float64(nil), z...), 1))
		ata.SymRankOne(ata, 1, row)
		atb.AddScaledVec(atb, math.Log(e.tall), row)
	}
	for k := range in - 1 {
		ata.SetSym(k, k, ata.At(k, k)+20)
	}
	var w mat.VecDense
	if err := w.SolveVec(ata, atb); err != nil {
		return fmt.Errorf("heights cannot be fitted: %w", err)
	}
	n.height = append([]float64(nil), w.RawVector().Data...)
	return nil
}

// reportHeight prints the median and the 90 % error of the height, in mm.
func (n *perceptron) reportHeight(rest []example) {
	z, h := make([]float64, n.in), make([]float64, n.hidden)
	var off []float64
	for _, e := range rest {
		if e.tall <= 0 {
			continue
		}
		n.forward(e.x, z, h)
		v := n.height[n.in]
		for k, x := range z {
			v += n.height[k] * x
		}
		off = append(off, math.Abs(math.Exp(v)-e.tall))
	}
	if len(off) == 0 {
		return
	}
	slices.Sort(off)
	fmt.Printf("height: median error %.2f mm, 90 %% %.2f mm\n", off[len(off)/2], off[len(off)*9/10])
}
