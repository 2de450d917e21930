package calib

import (
	"math"
)

// correlation inflates the variance: neighbouring pieces share their faults (print, paper, tone
// curve), so they do not count as independent. Chosen from drawn scenes.
const correlation = 4

// settle fits, drops outliers beyond limit robust standard deviations and minPx, and fits again with
// the noise that showed: what is systematic (waves of the paper) must not outvote the priors.
func settle(start view, obs []observation, pr prior, limit, minPx, enough float64) (fitted, bool) {
	f, ok := fit(start, obs, pr, roughly)
	if !ok {
		return f, false
	}
	f.drop(obs, limit, minPx)
	noise := f.residualPx(obs)
	for k := range obs {
		obs[k].sd = math.Max(obs[k].sd, noise) * math.Sqrt(correlation)
	}
	return fit(f.view, obs, pr, enough)
}

// residualPx is the root mean square of the residuals in use.
func (f *fitted) residualPx(obs []observation) float64 {
	sum, n := 0.0, 0
	for k := range obs {
		if o := &obs[k]; !o.dropped {
			z := o.freeze(&f.view)
			r := o.residual(&f.view, z)
			sum += r[0]*r[0] + r[1]*r[1]
			n += z.k
		}
	}
	return math.Sqrt(sum / math.Max(1, float64(n)))
}

// drop marks observations whose residual exceeds limit robust standard deviations (and minPx) as
// dropped, and takes back those that fit again. It returns how many changed.
func (f *fitted) drop(obs []observation, limit, minPx float64) int {
	size := make([]float64, len(obs))
	var all []float64
	for k := range obs {
		z := obs[k].freeze(&f.view)
		r := obs[k].residual(&f.view, z)
		size[k] = math.Hypot(r[0], r[1])
		all = append(all, size[k])
	}
	most := math.Max(minPx, limit*1.4826*median(all))
	changed := 0
	for k := range obs {
		if d := !(size[k] <= most); d != obs[k].dropped {
			obs[k].dropped = d
			changed++
		}
	}
	return changed
}

// strained reports whether the fit had to leave what is likely of lenses: radial distortion or focal
// length more than 3.3 standard deviations from the prior's mean. A bent sheet does that.
func (f *fitted) strained(pr prior) bool {
	for _, i := range []int{pFocal, pK1} {
		if pr.held[i] && math.Abs(f.p[i]-pr.mean[i]) > 3.3*pr.sd[i] {
			return true
		}
	}
	return false
}

// offCentre reports whether the fit put the principal point where no lens has it: the photo is cropped.
func (f *fitted) offCentre(pr prior) bool {
	return math.Hypot((f.p[pCX]-pr.mean[pCX])/pr.sd[pCX], (f.p[pCY]-pr.mean[pCY])/pr.sd[pCY]) > 3.3
}
