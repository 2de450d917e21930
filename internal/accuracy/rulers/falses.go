package rulers

import (
	"fmt"
	"strings"

	"gristmark/calib"
	"gristmark/vision"
)

// Kinds of ruler that photos without one are searched for.
var falseKinds = []calib.Kind{calib.Auto, calib.Grid, calib.Rule, calib.Frame}

// False is what was found in photos without a ruler.
type False struct {
	Kind   calib.Kind
	Scenes int
	Found  []string // a line for each scale that was stated
}

// tiny is the size of photos in which nothing is to be found, px.
var tiny = Size{1200, 900}

// without lists the patterns that hold nothing of what the kind of ruler is made of.
func without(kind calib.Kind) (out []pattern) {
	for _, p := range patterns {
		if kind == calib.Grid && p.lattice || kind == calib.Rule && p.ticks || kind == calib.Frame && p.rectangles {
			continue
		}
		out = append(out, p)
	}
	return out
}

// noRuler is a scene with a pattern and chop, and what is asked for in it.
func noRuler(kind calib.Kind, seed uint64) (s Scene, name string) {
	r := newDraws(seed, tiny)
	from := without(kind)
	p := from[seed%uint64(len(from))]
	c, lens := r.camera(120, 330, 25, r.between(0, 6.28), XY{})
	s = Scene{Spec: calib.Spec{Kind: kind}, Lens: lens}
	switch kind {
	case calib.Grid:
		s.Spec.PitchMM = pick(r, 5, 10, 12.7, 20, 25.4)
	case calib.Rule:
		s.Spec.PitchMM = pick(r, 1, 1, 25.4/16, 0.5)
	case calib.Frame:
		s.Spec.WidthMM, s.Spec.HeightMM = pick(r, 190.5, 210, 150), pick(r, 254, 297, 200.0)
	}
	s.pic = r.photo(c)
	s.pic.layers = []surface{p.draw(r)}
	s.litter(r, r.between(0, 0.5), nil)
	return s, p.name
}

// RunFalse looks for a kind of ruler in so many photos without one.
func RunFalse(kind calib.Kind, seed uint64, scenes, workers int) (False, error) {
	found, err := each(scenes, workers, func(i int) (string, error) {
		s, name := noRuler(kind, seed+uint64(i))
		data, err := s.JPEG()
		if err != nil {
			return "", err
		}
		photo, err := vision.Decode(data, 1)
		if err != nil {
			return "", err
		}
		defer photo.Close()
		plane, err := calib.Find(photo.Mat(), s.Spec, s.Lens)
		if err != nil {
			return "", nil
		}
		return fmt.Sprintf("%s, seed %d: %.4f mm per px from a %s", name, seed+uint64(i), plane.Scale().MMPerPx, plane.Scale().From), nil
	})
	out := False{Kind: kind, Scenes: scenes}
	for _, f := range found {
		if f != "" {
			out.Found = append(out.Found, f)
		}
	}
	return out, err
}

// FalseReport is the table of scales in photos without a ruler, as Markdown.
func FalseReport(all []False) string {
	var b strings.Builder
	b.WriteString("| asked for | patterns | photos | scales stated |\n|---|---|---:|---:|\n")
	for _, f := range all {
		var names []string
		for _, p := range without(f.Kind) {
			names = append(names, p.name)
		}
		fmt.Fprintf(&b, "| %s | %s | %d | %d |\n", f.Kind, strings.Join(names, ", "), f.Scenes, len(f.Found))
	}
	return b.String()
}
