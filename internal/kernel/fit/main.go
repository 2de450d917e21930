// Command fit breaks kernels in three dimensions and prints what package kernel's constants are taken from: thickness over
// width, form factor, and the passage rule's agreement with pieces turned in space, for breaks of any direction, for upright ones, and
// for the mixture that the model stands for. Seeds 1..6; tests use others.
package main

import (
	"fmt"
	"math"

	"gristmark/internal/kernel"
	"gristmark/internal/kernel/fracture"
	"gristmark/internal/stats"
)

func main() {
	for _, upright := range []float64{0, 0.65, 1} {
		all := pieces(upright)
		fmt.Printf("\n%.0f %% of breaks upright: %d pieces\n", 100*upright, len(all))
		byWidth(all)
		byShare(all)
		rule(all)
		lots(upright)
	}
}

func pieces(upright float64) (all []fracture.Piece) {
	for seed := uint64(1); seed <= 6; seed++ {
		r := stats.Rand(seed)
		lot := fracture.Default(0.6 + 0.6*float64(seed))
		lot.Upright = upright
		for range 100 {
			all = append(all, lot.Draw(r)...)
		}
	}
	return all
}

// byWidth prints thickness, form factor and passing by width.
func byWidth(all []fracture.Piece) {
	fmt.Println("width_mm     n  t/w    sd  t_mm    sd  model  form    sd  passes_pct  model")
	m := kernel.NewModel(kernel.Default())
	for low := 0.5; low < 8; low += 0.5 {
		var ratio, thick, form []float64
		pass, say := 0.0, 0.0
		for _, p := range all {
			if p.WidthMM < low || p.WidthMM >= low+0.5 || p.Share > 0.999 {
				continue
			}
			ratio = append(ratio, p.ThicknessMM/p.WidthMM)
			thick = append(thick, p.ThicknessMM)
			form = append(form, p.VolumeMM3/(p.AreaMM2*p.ThicknessMM))
			if p.Passes475 {
				pass++
			}
			say += m.PassProbability(p.WidthMM, false)
		}
		if len(ratio) < 5 {
			continue
		}
		a, as := stats.MeanSD(ratio)
		t, ts := stats.MeanSD(thick)
		f, fs := stats.MeanSD(form)
		mt, _ := m.ThicknessOf(low+0.25, false)
		n := float64(len(ratio))
		fmt.Printf("%3.1f-%3.1f  %5d  %.3f %.3f  %.2f  %.2f  %.2f  %.3f %.3f  %5.1f  %5.1f\n", low, low+0.5, len(ratio), a, as, t, ts, mt, f, fs, 100*pass/n, 100*say/n)
	}
}

// byShare prints thickness, form and area by the share of the kernel's volume.
func byShare(all []fracture.Piece) {
	for _, c := range [][2]float64{{0.999, 1.1}, {0.8, 0.999}, {0.6, 0.8}, {0.4, 0.6}, {0.2, 0.4}, {0, 0.2}} {
		var thick, form, areas []float64
		for _, p := range all {
			if p.Share >= c[0] && p.Share < c[1] {
				thick = append(thick, p.ThicknessMM)
				form = append(form, p.VolumeMM3/(p.AreaMM2*p.ThicknessMM))
				areas = append(areas, p.AreaMM2)
			}
		}
		t, ts := stats.MeanSD(thick)
		f, fs := stats.MeanSD(form)
		a, as := stats.MeanSD(areas)
		fmt.Printf("share %.2f-%.2f n %d thickness %.2f %.2f form %.3f %.3f area %.1f %.1f\n", c[0], c[1], len(thick), t, ts, f, fs, a, as)
	}
}

// rule compares the passage rule, given the true thickness, with turning in space, over corner exponents.
func rule(all []fracture.Piece) {
	for q := 1.0; q <= 2.01; q += 0.25 {
		var wrong, mass, total, pass float64
		for _, p := range all {
			fits := p.WidthMM <= 4.75 || math.Pow(math.Pow(p.WidthMM, q)+math.Pow(p.ThicknessMM, q), 1/q) <= math.Sqrt2*4.75
			total += p.VolumeMM3
			if p.Passes475 {
				pass += p.VolumeMM3
			}
			if fits {
				mass += p.VolumeMM3
			}
			if fits != p.Passes475 {
				wrong++
			}
		}
		fmt.Printf("exponent %.2f  disagree %.2f %%  passing mass %.2f %% (in space %.2f %%)\n", q, 100*wrong/float64(len(all)), 100*mass/total, 100*pass/total)
	}
}

// lots prints the passing mass of lots from outlines and in space.
func lots(upright float64) {
	m := kernel.NewModel(kernel.Default())
	for _, cuts := range []float64{1.5, 2.5, 4} {
		lot, r := fracture.Default(cuts), stats.Rand(100+uint64(cuts))
		lot.Upright = upright
		var got, say, mass, guess float64
		for range 150 {
			for _, p := range lot.Draw(r) {
				w := m.MassMG(p.WidthMM, p.AreaMM2, p.Share > 0.999)
				guess += w
				say += w * m.PassingShare(p.WidthMM, p.Share > 0.999)
				mass += p.VolumeMM3
				if p.Passes475 {
					got += p.VolumeMM3
				}
			}
		}
		fmt.Printf("cuts %.1f: passing mass %.1f %% from outlines, %.1f %% in space; mass %.3f of true\n", cuts, 100*say/guess, 100*got/mass, guess/mass/m.DensityGCM3)
	}
}
