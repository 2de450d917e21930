package vision

import (
	"math"

	"gristmark/internal/result"
	"gristmark/vision/shape"
)

// featureNames tell what each entry of a feature vector is; the fitted model stores them, so that
// a model of other features is not used by mistake.
var featureNames = []string{
	"log area / kernel area", "log max Feret / kernel length", "log min Feret / kernel width",
	"aspect", "solidity", "circularity", "rectangle fill", "radial spread", "log inscribed / half width",
	"log geodesic aspect", "sharpest corner", "straightest run", "hollow turn", "bulge spread",
	"mean L", "mean a", "mean b", "mean chroma", "sd L", "sd a", "sd b",
	"L 10 %", "L 90 %", "b 10 %", "b 90 %", "a 10 %", "a 90 %",
	"white share", "yellow share", "green share", "dark share", "grain", "grain along axis",
	"rim L less core L", "rim b less core b", "background L", "background b",
	"network kernel", "network whole", "network piece", "network contact",
	"depth in field", "share at field edge",
	"close-up whole", "close-up broken", "close-up stover", "close-up height",
}

// figure is what is measured of an outline, mm and mm².
type figure struct {
	area, perimeter, long, slim         float64
	length, thick                       float64 // geodesic
	solidity, rectangleFill, fromCentre float64
	turn                                turns
	box                                 shape.Rect // of least area
}

// figureOf measures an outline whose hull is known.
func figureOf(o []result.XY, hull shape.Hull) figure {
	area := math.Abs(shape.Area(o))
	per := shape.Perimeter(o)
	rect := hull.MinAreaRect()
	length, thick := shape.Geodesic(area, per)
	return figure{
		area: area, perimeter: per, long: hull.MaxFeret().Length, slim: hull.MinFeret().Length, length: length, thick: thick,
		solidity: hull.Solidity(area), rectangleFill: area / math.Max(rect.Length*rect.Width, 1e-9),
		fromCentre: shape.RadialSpread(shape.RadialProfile(o, 24)), turn: turnSummary(o), box: rect,
	}
}

// features describes a part: its outline as seen, and the colours inside.
func features(o figure, inside colours, k Kernel) []float64 {
	f := []float64{
		safeLog(o.area / k.AreaMM2()), safeLog(o.long / k.LengthMM), safeLog(o.slim / k.WidthMM),
		o.slim / math.Max(o.long, 1e-9), o.solidity, shape.Circularity(o.area, o.perimeter), o.rectangleFill, o.fromCentre,
		safeLog(inside.depthMM / math.Max(o.slim/2, 1e-9)), safeLog(o.length / math.Max(o.thick, 1e-9)),
		o.turn.sharpest, o.turn.straightest / math.Max(o.perimeter, 1e-9), o.turn.hollow, o.turn.spread,
	}
	return append(f, inside.list()...)
}

func safeLog(x float64) float64 { return math.Log(math.Max(x, 1e-4)) }

// turnSummary summarises how an outline turns over arms of a tenth of its size.
type turns struct {
	sharpest    float64 // largest turn, rad
	straightest float64 // longest run that turns little, in the outline's unit
	hollow      float64 // total inward turn, rad
	spread      float64 // standard deviation of the turn, rad
}

func turnSummary(o []result.XY) (t turns) {
	if len(o) < 8 {
		return t
	}
	per := shape.Perimeter(o)
	line, _ := thin(o, per/72)
	if len(line) < 8 {
		return t
	}
	turn := turning(line, per/18)
	var sum, sq, run, first float64
	broken := false
	for i, v := range turn {
		t.sharpest = math.Max(t.sharpest, v)
		sum, sq = sum+v, sq+v*v
		if v < 0 {
			t.hollow -= v
		}
		step := dist(line[i], line[(i+1)%len(line)])
		if math.Abs(v) < 0.22 {
			run += step
			t.straightest = math.Max(t.straightest, run)
			continue
		}
		if !broken {
			broken, first = true, run
		}
		run = 0
	}
	t.straightest = math.Max(t.straightest, run+first)
	n := float64(len(turn))
	t.spread = math.Sqrt(math.Max(0, sq/n-sum*sum/n/n))
	return t
}

// colours are what a part shows inside its outline.
type colours struct {
	n                                         int
	depthMM                                   float64 // radius of the largest inscribed circle
	mean                                      [3]float64
	chroma                                    float64
	sd                                        [3]float64
	q                                         [3][2]float64 // 10 and 90 % of L, a, b
	white, yellow, green, dark                float64       // shares of the area
	grain, grainAlong                         float64       // mean step of L between neighbours; its share across the long axis
	rimL, rimB                                float64       // rim less core
	backL, backB                              float64
	netKernel, netWhole, netPiece, netContact float64 // means of what the network says
	fieldDepth, edgeShare                     float64 // log of the distance to the edge of the field, mm; share of the outline on it
	contrast                                  float64 // upper quartile, standard deviations of the bare tray
	closeUp                                   closeUpFigures
}

func (c *colours) list() []float64 {
	return append([]float64{
		c.mean[0], c.mean[1], c.mean[2], c.chroma, c.sd[0], c.sd[1], c.sd[2],
		c.q[0][0], c.q[0][1], c.q[2][0], c.q[2][1], c.q[1][0], c.q[1][1],
		c.white, c.yellow, c.green, c.dark, c.grain, c.grainAlong,
		c.rimL, c.rimB, c.backL, c.backB, c.netKernel, c.netWhole, c.netPiece, c.netContact, c.fieldDepth, c.edgeShare,
	}, c.closeUp[:]...)
}

// reader reads the colours under outlines in work px.
type reader struct {
	lab      *labImage
	depth    []float32
	contrast []uint8
	net      *netMap
	back     *background
	mmPer    float64 // mm per work px, of the part at hand
	lift     float64 // how often its light goes into that of the tray's rest
}

func (r *reader) colours(o []result.XY, axis float64) colours {
	var c colours
	var lab [3][256]int
	f := math.Cbrt(r.lift) // CIE 15: L* + 16, a* and b* go with the cube root of the light
	var hist [256]int
	var rim, core [4]float64 // L, b, count
	var along, across float64
	ca, sa := math.Abs(math.Cos(axis)), math.Abs(math.Sin(axis))
	var top float32
	w := r.lab.w
	r.scan(o, func(x, y int) {
		i := y*w + x
		d := r.depth[i]
		top = max(top, d)
		if d <= 1.2 && c.n > 40 {
			return // mixed with the background
		}
		v := r.lab.at(i)
		l, a, b := f*float64(v[0])-16, f*float64(v[1]), f*float64(v[2])
		for k := range lab {
			lab[k][r.lab.pix[3*i+k]]++
		}
		c.n++
		hist[r.contrast[i]]++
		c.count(l, a, b)
		if r.net != nil {
			k := r.net.index(x, y)
			c.netKernel += float64(r.net.kernel[k])
			c.netWhole += float64(r.net.whole[k])
			c.netPiece += float64(r.net.piece[k])
			c.netContact += float64(r.net.part[k])
		}
		bin := &core
		if d < 3.5 {
			bin = &rim
		}
		bin[0], bin[1], bin[2] = bin[0]+l, bin[1]+b, bin[2]+1
		if x+1 < r.lab.w && y+1 < r.lab.h {
			gx := f * math.Abs(float64(r.lab.pix[3*(i+1)])-float64(r.lab.pix[3*i]))
			gy := f * math.Abs(float64(r.lab.pix[3*(i+w)])-float64(r.lab.pix[3*i]))
			c.grain += gx + gy
			along += gx*ca + gy*sa
			across += gx*sa + gy*ca
		}
	})
	c.depthMM = float64(top) * r.mmPer
	if c.n == 0 {
		return c
	}
	c.summarise(&lab, f)
	c.contrast = quantileOf(&hist, c.n, 0.75) / contrastScale
	c.grainAlong = across / math.Max(along+across, 1e-6)
	if rim[2] > 0 && core[2] > 0 {
		c.rimL, c.rimB = rim[0]/rim[2]-core[0]/core[2], rim[1]/rim[2]-core[1]/core[2]
	}
	at := shape.Centroid(o)
	b := r.back.at(at[0]/cellPx, at[1]/cellPx)
	c.backL, c.backB = f*float64(b[0])-16, f*float64(b[2])
	return c
}

// count adds a pixel to the shares of named colours: limits in CIE L*a*b*, chosen by eye.
func (c *colours) count(l, a, b float64) {
	chroma := math.Hypot(a, b)
	c.chroma += chroma
	switch {
	case l > 72 && chroma < 22:
		c.white++
	case b > 32 && a > -4:
		c.yellow++
	case a < -4:
		c.green++
	case l < 30:
		c.dark++
	}
}

// summarise takes the stored values of the pixels, counted, and the cube root of what their light is multiplied by.
func (c *colours) summarise(lab *[3][256]int, f float64) {
	n := float64(c.n)
	for k := range lab {
		unit, zero := f, 128.0
		if k == 0 {
			unit, zero = f*100/255, 16*(1-f)/f*255/100
		}
		var sum, sq float64
		for v, m := range lab[k] {
			x := (float64(v) - zero) * unit
			sum, sq = sum+x*float64(m), sq+x*x*float64(m)
		}
		c.mean[k] = sum / n
		c.sd[k] = math.Sqrt(math.Max(0, sq/n-c.mean[k]*c.mean[k]))
		for j, q := range [2]float64{0.1, 0.9} {
			c.q[k][j] = (quantileOf(&lab[k], c.n, q) - zero) * unit
		}
	}
	for _, s := range []*float64{&c.white, &c.yellow, &c.green, &c.dark, &c.chroma, &c.grain, &c.netKernel, &c.netWhole, &c.netPiece, &c.netContact} {
		*s /= n
	}
}

// scan calls f for the work pixels whose centre lies inside the outline.
func (r *reader) scan(o []result.XY, f func(x, y int)) {
	eachSpan(o, r.lab.w, r.lab.h, func(y, x0, x1 int) {
		for x := x0; x <= x1; x++ {
			f(x, y)
		}
	})
}

// quantileOf is the q quantile of n bytes counted in hist.
func quantileOf(hist *[256]int, n int, q float64) float64 {
	run := 0
	for v, k := range hist {
		if run += k; float64(run) >= q*float64(n) {
			return float64(v)
		}
	}
	return 255
}
