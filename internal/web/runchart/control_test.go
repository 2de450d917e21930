package runchart

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Eight values that alternate by 2 about 10: the mean moving range is 2, sigma 2/1.128 = 1.7725, limits 10 -+ 5.317.
func TestLimitsOfAnAlternatingStretch(t *testing.T) {
	values := []float64{11, 9, 11, 9, 11, 9, 11, 9, 25}
	l, ok := Find(values)
	if !ok || l.From != 0 || l.To != 8 {
		t.Fatalf("stretch %d..%d, found %v", l.From, l.To, ok)
	}
	if want := 10 + 3*2/(2/math.Sqrt(math.Pi)); math.Abs(l.High-want) > 1e-9 {
		t.Errorf("upper limit %v, want %v", l.High, want)
	}
	if got := Signals(values, l); got[8] != Beyond || got[7] != Fine {
		t.Errorf("signals %v", got)
	}
}

func TestAnUnstableBeginningIsPassedOver(t *testing.T) {
	values := []float64{80, 11, 9, 11, 9, 11, 9, 11, 9}
	l, ok := Find(values)
	if !ok || l.From != 1 {
		t.Fatalf("stretch from %d, found %v; want from 1", l.From, ok)
	}
	if got := Signals(values, l); got[0] != Beyond {
		t.Errorf("the first load is %v, want beyond", got[0])
	}
}

func TestEightOnOneSideAreADrift(t *testing.T) {
	values := []float64{11, 9, 11, 9, 11, 9, 11, 9, 10.5, 10.6, 10.5, 10.7, 10.5, 10.6, 10.5, 10.9}
	l, _ := Find(values)
	got := Signals(values, l)
	if got[14] != Fine || got[15] != Drift {
		t.Errorf("signals %v: want the eighth in a row alone", got)
	}
}

// Limits 10 -+ 5.317: two thirds of the way are 10 -+ 3.545.
func TestTwoOfThreeNearALimitAreASignal(t *testing.T) {
	base := []float64{11, 9, 11, 9, 11, 9, 11, 9}
	for _, c := range []struct {
		more []float64
		want Kind
	}{
		{[]float64{6, 10.5, 6.2}, Near}, {[]float64{6, 6.2}, Near}, {[]float64{6, 10.5, 10.4, 6.2}, Fine}, {[]float64{14, 6.2}, Fine}, {[]float64{6.6, 6.6}, Fine}, {[]float64{6, 4}, Beyond},
	} {
		values := append(append([]float64{}, base...), c.more...)
		l, _ := Find(values)
		if got := Signals(values, l); got[len(got)-1] != c.want {
			t.Errorf("%v: the last is %v, want %v", c.more, got[len(got)-1], c.want)
		}
	}
}

func TestTooFewHaveNoLimits(t *testing.T) {
	if _, ok := Find([]float64{1, 2, 1, 2, 1, 2, 1}); ok {
		t.Error("seven loads gave limits")
	}
	if _, ok := Find(make([]float64, 20)); ok {
		t.Error("values without any scatter gave limits")
	}
}

// Shifting and stretching the values shifts and stretches the limits and leaves the signals.
func TestLimitsFollowTheScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64Range(0, 100), 8, 30).Draw(t, "values")
		a, b := rapid.Float64Range(.5, 4).Draw(t, "factor"), rapid.Float64Range(-50, 50).Draw(t, "shift")
		moved := make([]float64, len(values))
		for i, v := range values {
			moved[i] = a*v + b
		}
		l, ok := Find(values)
		m, okToo := Find(moved)
		if ok != okToo {
			t.Fatalf("found %v and %v", ok, okToo)
		}
		if ok && (math.Abs(m.High-(a*l.High+b)) > 1e-6 || l.From != m.From) {
			t.Fatalf("limits %v of %v", m, l)
		}
	})
}

// What was set anew is judged by limits of its own: the step at the change is no signal, the one within the new phase is.
func TestAChangeOfSettingsStartsAPhase(t *testing.T) {
	values := []float64{11, 9, 11, 9, 11, 9, 11, 9, 31, 29, 31, 29, 31, 29, 31, 29, 10}
	anew := make([]bool, len(values))
	anew[8] = true
	phases := Phases(values, anew)
	if len(phases) != 2 || !phases[1].OK || phases[1].Limits.Centre != 30 || phases[1].Limits.From != 8 {
		t.Fatalf("phases %+v", phases)
	}
	if phases[1].Kinds[0] != Fine || phases[1].Kinds[8] != Beyond {
		t.Errorf("signals %v", phases[1].Kinds)
	}
	anew[8] = false
	if all := Phases(values, anew); len(all) != 1 || all[0].Kinds[8] != Beyond {
		t.Errorf("without a mark: %+v", all)
	}
}

func TestDrawingEscapesNamesAndMarksSignals(t *testing.T) {
	c := Chart{Label: `"><script>`, Target: "target", Centre: "mean", Limit: "limit"}
	for i, v := range []float64{11, 9, 11, 9, 11, 9, 11, 9, 25} {
		p := Point{Name: "<b>load</b>", Href: "/loads/1", Say: "load", Value: v, Low: v - 1, High: v + 1}
		if i == 0 {
			p.Mark = "gap 3 → 2 mm"
		}
		c.Points = append(c.Points, p)
	}
	svg, err := c.Wide()
	if err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{"<script", "<b>", "style=", "NaN"} {
		if strings.Contains(string(svg), bad) {
			t.Errorf("the drawing holds %q", bad)
		}
	}
	for class, want := range map[string]int{"c-out": 1, "c-point": 8, "c-whisker": 9, "c-mark-text": 1} {
		if n := strings.Count(string(svg), `class="`+class+`"`); n != want {
			t.Errorf("%d of %s, want %d", n, class, want)
		}
	}
}
