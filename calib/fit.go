package calib

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"gristmark/internal/result"
)

// observation is one thing measured in the photo that the view has to explain: a point of the plane,
// or a point somewhere on a line of the plane.
type observation struct {
	px  result.XY // ideal px
	mm  result.XY // the point, or a point of the line
	dir result.XY // unit direction of the line, mm; zero for a point
	// spread is +1 where the line bounds dark print and out points away from the print, -1 for the
	// opposite, 0 where no side is dark.
	spread float64
	out    result.XY // unit normal of the line, mm
	sd     float64   // px, of the measuring alone; fits that know better raise it
	mark   int       // which mark it belongs to

	dropped bool
}

// isLine reports whether the observation is of a line: one residual instead of two.
func (o *observation) isLine() bool { return o.dir != result.XY{} }

// prior holds parameters near a value: mean and standard deviation; sd 0 fixes a parameter.
type prior struct {
	mean, sd [nParams]float64
	held     [nParams]bool // whether the prior counts
	// tiltSD, if not 0, is the standard deviation of the sine of the tilt about the plane's x axis,
	// with no tilt as its mean.
	tiltSD float64
}

// tiltAboutX is the sine of the tilt about the plane's x axis.
func (v *view) tiltAboutX() float64 {
	return rodrigues(v.p[pRotX], v.p[pRotY], v.p[pRotZ])[7]
}

// fitted is a view with its covariance.
type fitted struct {
	view
	cov *mat.SymDense // of the parameters
	rms float64       // px, over the observations used
	// sigma is the factor by which residuals exceed the stated standard deviations, at least 1.
	sigma float64
	used  int
}

// jacobianSteps are the steps of the parameters for numerical derivatives.
var jacobianSteps = [nParams]float64{1e-6, 1e-6, 1e-6, 1e-3, 1e-3, 1e-3, 1e-6, 1e-3, 1e-3, 1e-6, 1e-6, 1e-3}

// frozen is an observation prepared for one linearisation.
type frozen struct {
	mm result.XY    // point whose image is compared
	n  [2]result.XY // directions along which the residual is taken
	k  int          // number of directions
}

// freeze picks the point of the line nearest to what was seen, and the direction across its image.
func (o *observation) freeze(v *view) frozen {
	if !o.isLine() {
		return frozen{o.mm, [2]result.XY{{1, 0}, {0, 1}}, 2}
	}
	seen := v.toMM(o.px)
	t := (seen[0]-o.mm[0])*o.dir[0] + (seen[1]-o.mm[1])*o.dir[1]
	foot := result.XY{o.mm[0] + t*o.dir[0], o.mm[1] + t*o.dir[1]}
	const step = 0.1 // mm
	a := v.toPx(foot)
	b := v.toPx(result.XY{foot[0] + step*o.dir[0], foot[1] + step*o.dir[1]})
	c := v.toPx(result.XY{foot[0] + step*o.out[0], foot[1] + step*o.out[1]})
	n := result.XY{-(b[1] - a[1]), b[0] - a[0]}
	if n[0]*(c[0]-a[0])+n[1]*(c[1]-a[1]) < 0 {
		n[0], n[1] = -n[0], -n[1]
	}
	l := math.Hypot(n[0], n[1])
	return frozen{foot, [2]result.XY{{n[0] / l, n[1] / l}}, 1}
}

// residual is what was seen minus what the view says, px along each direction.
func (o *observation) residual(v *view, z frozen) (r [2]float64) {
	q := v.toPx(z.mm)
	for i := range z.k {
		r[i] = (o.px[0]-q[0])*z.n[i][0] + (o.px[1]-q[1])*z.n[i][1]
	}
	r[0] -= o.spread * v.p[pSpread]
	return r
}

// huber weighs a standardised residual: 1 up to the limit, falling as 1/r beyond.
func huber(r, limit float64) float64 {
	if r = math.Abs(r); r <= limit {
		return 1
	}
	return limit / r
}

// huberCost is the sum's term whose gradient huber weighs: square inside the limit, straight beyond.
func huberCost(r, limit float64) float64 {
	if r = math.Abs(r); r <= limit {
		return r * r
	}
	return limit * (2*r - limit)
}

// What fits stop at: the share of the cost that one more step gains.
const (
	roughly = 1e-3 // where the observations will be looked at again
	finely  = 1e-5
)

// fit finds the view that explains the observations best, from a start, by Levenberg-Marquardt with
// Huber weights. obs marked as dropped count for nothing.
func fit(start view, obs []observation, pr prior, enough float64) (fitted, bool) {
	v := start
	v.set()
	lambda := 1e-3
	at := make([]frozen, len(obs))
	for range 40 {
		a, b, cost := linearise(&v, obs, pr, at)
		if math.IsNaN(cost) || math.IsInf(cost, 0) {
			return fitted{}, false
		}
		next, gain := improve(v, obs, pr, at, a, b, cost, &lambda)
		v = next
		if gain < enough*(1+cost) {
			break
		}
	}
	return finish(v, obs, pr)
}

// improve tries steps of growing caution until the cost falls; it returns v itself and no gain when
// none helps.
func improve(v view, obs []observation, pr prior, at []frozen, a *mat.SymDense, b []float64, cost float64, lambda *float64) (view, float64) {
	for range 8 {
		if next, ok := step(v, a, b, *lambda); ok {
			if e := frozenCost(&next, obs, pr, at); e < cost {
				*lambda = max(*lambda/5, 1e-9)
				return next, cost - e
			}
		}
		*lambda *= 10
	}
	return v, 0
}

func step(v view, a *mat.SymDense, b []float64, lambda float64) (view, bool) {
	m := mat.NewSymDense(nParams, nil)
	m.CopySym(a)
	for i := range nParams {
		m.SetSym(i, i, a.At(i, i)*(1+lambda)+1e-12)
	}
	var chol mat.Cholesky
	if !chol.Factorize(m) {
		return v, false
	}
	var d mat.VecDense
	if err := chol.SolveVecTo(&d, mat.NewVecDense(nParams, b)); err != nil {
		return v, false
	}
	for i := range nParams {
		v.p[i] += d.AtVec(i)
	}
	v.set()
	return v, v.p[pMoveZ] > 0 && !math.IsNaN(v.p[pMoveZ])
}

// huberLimit is in standard deviations of an observation.
const huberLimit = 3

// shifted are the views with each parameter moved by its step.
func (v *view) shifted() *[nParams]view {
	var out [nParams]view
	for i := range nParams {
		out[i] = *v
		if i != pSpread { // it moves no point
			out[i].p[i] += jacobianSteps[i]
			out[i].set()
		}
	}
	return &out
}

// derivatives of a point's image by each parameter.
func (v *view) derivatives(shifted *[nParams]view, mm result.XY) (out [nParams]result.XY) {
	q := v.toPx(mm)
	for i := range nParams {
		if i != pSpread {
			s := shifted[i].toPx(mm)
			out[i] = result.XY{(s[0] - q[0]) / jacobianSteps[i], (s[1] - q[1]) / jacobianSteps[i]}
		}
	}
	return out
}

// linearise gives the normal equations and the cost at v, and in at, as long as obs, what was compared.
func linearise(v *view, obs []observation, pr prior, at []frozen) (a *mat.SymDense, b []float64, cost float64) {
	shifted := v.shifted()
	var aa [nParams][nParams]float64
	b = make([]float64, nParams)
	for k := range obs {
		o := &obs[k]
		if o.dropped {
			continue
		}
		z := o.freeze(v)
		at[k] = z
		r := o.residual(v, z)
		jx := v.derivatives(shifted, z.mm)
		for d := range z.k {
			w := huber(r[d]/o.sd, huberLimit) / (o.sd * o.sd)
			cost += huberCost(r[d]/o.sd, huberLimit)
			var j [nParams]float64
			for i := range nParams {
				j[i] = jx[i][0]*z.n[d][0] + jx[i][1]*z.n[d][1]
			}
			if d == 0 {
				j[pSpread] = o.spread
			}
			for i := range nParams {
				wj := w * j[i]
				b[i] += wj * r[d]
				for l := i; l < nParams; l++ {
					aa[i][l] += wj * j[l]
				}
			}
		}
	}
	a = mat.NewSymDense(nParams, nil)
	for i := range nParams {
		for l := i; l < nParams; l++ {
			a.SetSym(i, l, aa[i][l])
		}
	}
	cost += addPrior(v, a, b, pr)
	return a, b, cost
}

func addPrior(v *view, a *mat.SymDense, b []float64, pr prior) (cost float64) {
	for i := range nParams {
		if !pr.held[i] {
			continue
		}
		w := 1 / (pr.sd[i] * pr.sd[i])
		e := pr.mean[i] - v.p[i]
		a.SetSym(i, i, a.At(i, i)+w)
		b[i] += w * e
		cost += w * e * e
	}
	if pr.tiltSD > 0 {
		cost += addTilt(v, a, b, pr.tiltSD)
	}
	return cost
}

// addTilt adds the prior on the tilt, which is of no single parameter.
func addTilt(v *view, a *mat.SymDense, b []float64, sd float64) float64 {
	w, e := 1/(sd*sd), v.tiltAboutX()
	var j [3]float64
	for i := range 3 {
		s := *v
		s.p[pRotX+i] += jacobianSteps[pRotX+i]
		j[i] = (s.tiltAboutX() - e) / jacobianSteps[pRotX+i]
	}
	for i := range 3 {
		b[pRotX+i] -= w * j[i] * e
		for k := i; k < 3; k++ {
			a.SetSym(pRotX+i, pRotX+k, a.At(pRotX+i, pRotX+k)+w*j[i]*j[k])
		}
	}
	return w * e * e
}

// totalCost is the same sum as linearise's cost.
func totalCost(v *view, obs []observation, pr prior) float64 {
	at := make([]frozen, len(obs))
	for k := range obs {
		if !obs[k].dropped {
			at[k] = obs[k].freeze(v)
		}
	}
	return frozenCost(v, obs, pr, at)
}

// frozenCost is the sum with the points of the lines held where they were when it was last linearised.
func frozenCost(v *view, obs []observation, pr prior, at []frozen) (cost float64) {
	for k := range obs {
		o := &obs[k]
		if o.dropped {
			continue
		}
		r := o.residual(v, at[k])
		for d := range at[k].k {
			cost += huberCost(r[d]/o.sd, huberLimit)
		}
	}
	for i := range nParams {
		if pr.held[i] {
			e := (pr.mean[i] - v.p[i]) / pr.sd[i]
			cost += e * e
		}
	}
	if pr.tiltSD > 0 {
		e := v.tiltAboutX() / pr.tiltSD
		cost += e * e
	}
	return cost
}

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

// finish computes residual and covariance.
func finish(v view, obs []observation, pr prior) (fitted, bool) {
	out := fitted{view: v, sigma: 1}
	n, sum, chi := 0, 0.0, 0.0
	for k := range obs {
		o := &obs[k]
		if o.dropped {
			continue
		}
		z := o.freeze(&v)
		r := o.residual(&v, z)
		for d := range z.k {
			sum += r[d] * r[d]
			chi += min(r[d]*r[d]/(o.sd*o.sd), 25)
			n++
		}
		out.used++
	}
	if n == 0 || math.IsNaN(sum) {
		return out, false
	}
	out.rms = math.Sqrt(sum / float64(n))
	out.sigma = math.Max(1, math.Sqrt(chi/math.Max(1, float64(n-8))))
	var ok bool
	out.cov, ok = covariance(v, obs, pr, out.sigma)
	return out, ok
}

// covariance inverts the normal equations, their weights lowered by sigma squared.
func covariance(v view, obs []observation, pr prior, sigma float64) (*mat.SymDense, bool) {
	a, _, _ := linearise(&v, obs, prior{}, make([]frozen, len(obs)))
	a.ScaleSym(1/(sigma*sigma), a)
	addPrior(&v, a, make([]float64, nParams), pr)
	// Scaled to a unit diagonal first: the parameters' units differ by orders of magnitude.
	s := make([]float64, nParams)
	for i := range s {
		s[i] = 1 / math.Sqrt(math.Max(a.At(i, i), 1e-30))
	}
	rescale(a, s)
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		return nil, false
	}
	cov := mat.NewSymDense(nParams, nil)
	if err := chol.InverseTo(cov); err != nil {
		return nil, false
	}
	rescale(cov, s)
	return cov, true
}

// rescale multiplies each element by the scales of its row and its column.
func rescale(m *mat.SymDense, s []float64) {
	for i := range s {
		for j := i; j < len(s); j++ {
			m.SetSym(i, j, m.At(i, j)*s[i]*s[j])
		}
	}
}

// sdOf propagates the covariance to a function of the view (the delta method).
func (f *fitted) sdOf(fn func(*view) float64) float64 {
	at := fn(&f.view)
	g := mat.NewVecDense(nParams, nil)
	for i := range nParams {
		v := f.view
		v.p[i] += jacobianSteps[i]
		v.set()
		g.SetVec(i, (fn(&v)-at)/jacobianSteps[i])
	}
	return math.Sqrt(math.Max(0, mat.Inner(g, f.cov, g)))
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
