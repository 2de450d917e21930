package vision

import (
	"image"

	"gristmark/vision/shape"
)

// A shadow with a hard edge, as of a wall, cuts a tray in two that look like two surfaces. The ruler lies on the tray, so what is around it is tray; and where
// the network sees pieces there is tray too. What of that the field leaves out is joined to it.
const (
	leastAround = 0.05 // of what is around the ruler lies off the field
	fewStrays   = 2
	alikeHue    = 0.15 // of a* and b*, over L* + 16: shade is bluer than sun
	leastPart   = 0.05 // of the field is a part of it that is lit otherwise
	mostParts   = 3
	atSideMM    = 12.0
)

// litApart is a part of the tray that is lit otherwise than the rest.
type litApart struct {
	back surface
	mask []bool // a cell each
}

// row fills in the smooth colours of the bare tray for a row of cells.
func (f *field) row(y int, row [][3]float32) {
	f.back.row(float64(y)+0.5, row)
	if len(f.lit) == 0 {
		return
	}
	own := make([][3]float32, len(row))
	for _, l := range f.lit {
		l.back.row(float64(y)+0.5, own)
		for x, in := range l.mask[y*len(row) : (y+1)*len(row)] {
			if in {
				row[x] = own[x]
			}
		}
	}
}

// joinAround joins to the field, before it is settled, what lies around the ruler and beyond the field's outline.
func (f *field) joinAround(excluded, near []bool, mmPerCell float64) {
	if near == nil {
		return
	}
	left := make([]bool, len(near))
	for i, is := range near {
		left[i] = is && !f.mask[i]
	}
	if shareIn(near, left) > leastAround {
		f.join(left, excluded, mmPerCell)
	}
}

// join widens the field by the surface that most of the given cells lie on, beyond its outline, if that has the tray's own colour in other light; what lies
// between the two is field as well. It reports whether there is one. A table beside the tray is none, nor is a second tray.
func (f *field) join(at, excluded []bool, mmPerCell float64) bool {
	inside, taken := f.mask, either(f.mask, excluded)
	seed, _ := seedSurface(&f.cells, taken, at, f.noise)
	if seed == nil {
		return false
	}
	bare, back := surfaceFrom(&f.cells, seed, taken, mmPerCell)
	if !shadeOf(f.meanOf(bare, nil), f.meanOf(f.bare, inside)) {
		return false
	}
	region, _ := trayRegion(&f.cells, bare, seed, mmPerCell)
	part := litApart{back, make([]bool, len(region))}
	for i, in := range region {
		part.mask[i] = in && !inside[i]
		region[i] = in || inside[i]
		f.bare[i] = f.bare[i] || bare[i]
	}
	f.outline = shape.ConvexHull(cellCorners(region, f.cells.w, f.cells.h))
	f.mask = fillOutline(f.outline, f.cells.w, f.cells.h)
	f.lit = append(f.lit, part)
	return true
}

// meanOf is the mean colour of the marked cells, of those inside where that is given.
func (f *field) meanOf(marked, inside []bool) (sum [3]float32) {
	n := float32(0)
	for i, in := range marked {
		if in && (inside == nil || inside[i]) {
			c := f.cells.at(i)
			sum[0], sum[1], sum[2], n = sum[0]+c[0], sum[1]+c[1], sum[2]+c[2], n+1
		}
	}
	for k := range sum {
		sum[k] /= max(n, 1)
	}
	return sum
}

// shadeOf reports whether two colours are one in light and shade. In less light L* + 16, a* and b* of a surface (CIE 15) fall alike: they go with the cube root of
// the light.
func shadeOf(a, b [3]float32) bool {
	la, lb := a[0], b[0] // L* + 16
	da, db := a[1]/la-b[1]/lb, a[2]/la-b[2]/lb
	return da*da+db*db < alikeHue*alikeHue
}

// joinPeopled joins to the field what beyond it may be tray in other light, as long as the network sees pieces there.
func (s *search) joinPeopled(excluded []bool) error {
	for range mostParts {
		at := s.field.alikeBeyond(excluded)
		if at == nil {
			return nil
		}
		t, err := s.probe(s.boxOf(at), excluded)
		if err != nil {
			return err
		}
		if t.off < fewStrays || !s.field.join(at, excluded, cellPx/s.pxPerMM) {
			return nil
		}
	}
	return nil
}

// boxOf is the bounding box of marked cells with the pieces at its sides, work px.
func (s *search) boxOf(cells []bool) image.Rectangle {
	w := s.field.cells.w
	var box image.Rectangle
	for i, in := range cells {
		if in {
			box = box.Union(image.Rect(i%w, i/w, i%w+1, i/w+1))
		}
	}
	box = image.Rect(box.Min.X*cellPx, box.Min.Y*cellPx, box.Max.X*cellPx, box.Max.Y*cellPx)
	return box.Inset(-int(atSideMM * s.pxPerMM))
}

// alikeBeyond marks the smooth parts beyond the field that are large and of the tray's hue, but not of its lightness; nil if there are none.
func (f *field) alikeBeyond(excluded []bool) []bool {
	on := count(f.mask)
	labels, n := smoothComponents(&f.cells, either(f.mask, excluded), max(1.8, 1.5*f.noise))
	parts := make([]int, n)
	for _, l := range labels {
		if l >= 0 {
			parts[l]++
		}
	}
	tray := f.meanOf(f.bare, f.mask)
	var at []bool
	for k, cells := range parts {
		if float64(cells) < leastPart*float64(on) {
			continue
		}
		part := pick(labels, k)
		if c := f.meanOf(part, nil); !shadeOf(c, tray) || f.sameLight(part) {
			continue
		}
		if at == nil {
			at = make([]bool, len(part))
		}
		for i, in := range part {
			at[i] = at[i] || in
		}
	}
	return at
}

// sameLight reports whether most of the marked cells have the tray's own smooth colour: another tray beside it.
func (f *field) sameLight(marked []bool) bool {
	return shareIn(marked, matching(&f.cells, &f.back, make([]bool, len(marked)), bareWithin)) > 0.5
}
