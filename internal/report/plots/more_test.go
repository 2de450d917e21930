package plots

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"gristmark/internal/lab"
	"gristmark/internal/stats"
	"gristmark/internal/words"
)

// groups of samples of seeded spread; the last has two samples only.
func groups(n int) Groups {
	r := stats.Rand(5)
	target := 70.0
	g := Groups{Title: "Kernel mass through 4.75 mm by field", X: "field", Y: "share of kernel mass, %", Target: &target, Most: 100}
	for i := range n {
		group := Group{Name: fmt.Sprintf("Field %d", i+1)}
		for range 12 - 10*(i/(n-1)) {
			group.Values = append(group.Values, 60+3*float64(i)+5*r.NormFloat64())
		}
		g.Groups = append(g.Groups, group)
	}
	return g
}

func laboratory(say *words.Words) (Chart, error) {
	r := stats.Rand(11)
	var list []lab.Pair
	for i := range 12 {
		x := 40 + 3*float64(i)
		list = append(list, lab.Pair{Name: fmt.Sprint(i), Row: i + 2, Photo: x + 3*r.NormFloat64(), Lab: 8 + 0.9*x + 3*r.NormFloat64()})
	}
	fit, err := lab.Fit("demo", list)
	if err != nil {
		return Chart{}, err
	}
	return Laboratory(say, fit, list)
}

func germanUS() *words.Words {
	w, err := words.For("de")
	if err != nil {
		panic(err) // German is built in
	}
	return w.With(words.US)
}

// svgOf is the drawing's text; the tests look for words in it.
func svgOf(t *testing.T, c Chart, err error) string {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	svg, err := c.SVG()
	if err != nil {
		t.Fatal(err)
	}
	return string(svg)
}

func TestGroupsWithoutValuesAreLeftOut(t *testing.T) {
	g := Groups{Groups: []Group{{Name: "a"}, {Name: "b", Values: []float64{1}}}}
	c, err := Box(nil, g)
	if svg := svgOf(t, c, err); strings.Contains(svg, "a (n 0)") || !strings.Contains(svg, "b (n 1)") {
		t.Error("the empty group is drawn, or the other is not")
	}
	if _, err := Box(nil, Groups{Groups: []Group{{Name: "a"}}}); !errors.Is(err, ErrNothing) {
		t.Errorf("nothing to draw: %v", err)
	}
	if _, err := Laboratory(nil, nil, nil); !errors.Is(err, ErrNothing) {
		t.Errorf("nothing to draw: %v", err)
	}
}

// A chart speaks the language and the units of its words, and its lines stand where they are due: 4, 8 and 19 mm in inches are
// 0.16, 0.31 and 0.75.
func TestChartsSpeak(t *testing.T) {
	c, err := Lengths(germanUS(), photos(), nil)
	svg := svgOf(t, c, err)
	for _, want := range []string{"0,16 in", "0,31 in", "0,75 in", "Länge der Restpflanze", "diese Probe"} {
		if !strings.Contains(svg, want) {
			t.Errorf("no %q in the length chart", want)
		}
	}
	if strings.Contains(svg, " mm") {
		t.Error("mm in a chart of inches")
	}
	c, err = Lengths(nil, photos(), nil)
	svg = svgOf(t, c, err)
	for _, want := range []string{"4 mm", "8 mm", "19 mm", "length along the piece, mm"} {
		if !strings.Contains(svg, want) {
			t.Errorf("no %q in the length chart", want)
		}
	}
	c, err = Kernels(germanUS(), photos())
	if svg := svgOf(t, c, err); !strings.Contains(svg, "4,75-mm-Masche") || !strings.Contains(svg, "Durchmesser), in") {
		t.Error("the mesh or the unit is missing in the kernel chart")
	}
}
