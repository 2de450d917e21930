package advice

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gristmark/internal/result"
)

func est(low, value, high float64) *result.Estimate {
	return &result.Estimate{Value: value, Low: low, High: high, Level: 0.95}
}

func ptr[T any](v T) *T { return &v }

func kernels(low, value, high float64) *result.Sample {
	return &result.Sample{Kernels: &result.Kernels{Passing475Pct: est(low, value, high)}}
}

func boxes4(top, middle, lower, pan *result.Estimate) *result.Sample {
	return &result.Sample{Pieces: &result.Pieces{BoxPct: &result.BoxShares{Top: *top, Middle: *middle, Lower: *lower, Pan: *pan}}}
}

// 70 and more is good, under 50 poor: Ferreira and Mertens 2005, J. Dairy Sci. 88:4414, and later fact sheets.
func TestKernelVerdict(t *testing.T) {
	cases := []struct {
		low, value, high float64
		want             string
	}{
		{57, 63, 69, result.ShortOfTarget},
		{71, 75, 80, result.OnTarget},
		{70, 75, 80, result.OnTarget}, // the mark itself is good
		{64, 70, 76, result.Undecided},
		{60, 65, 70, result.Undecided}, // an end on the mark straddles it
		{30, 40, 49, result.ShortOfTarget},
	}
	for _, c := range cases {
		v, _ := Judge(kernels(c.low, c.value, c.high), Context{}, DefaultSet())
		if v.Kernels == nil || *v.Kernels != c.want || v.Pieces != nil {
			t.Errorf("%v: kernels %v pieces %v", c, word(v.Kernels), word(v.Pieces))
		}
	}
}

func TestNothingToJudge(t *testing.T) {
	for _, s := range []*result.Sample{nil, {}, {Kernels: &result.Kernels{}, Pieces: &result.Pieces{}}} {
		v, a := Judge(s, Context{}, DefaultSet())
		if v.Kernels != nil || v.Pieces != nil || a == nil || len(a) != 0 || v.Targets == "" {
			t.Errorf("%+v: %+v %v", s, v, a)
		}
	}
}

func TestPiecesVerdict(t *testing.T) {
	in := [4]*result.Estimate{est(4, 5, 7), est(50, 55, 62), est(22, 26, 29), est(5, 7, 9)}
	with := func(i int, e *result.Estimate) *result.Sample {
		b := in
		b[i] = e
		return boxes4(b[0], b[1], b[2], b[3])
	}
	cases := []struct {
		name string
		s    *result.Sample
		ctx  Context
		want string
	}{
		{"all within", with(0, in[0]), Context{}, result.OnTarget},
		{"top straddles", with(0, est(5, 7, 9)), Context{}, result.Undecided},
		{"top over", with(0, est(9, 12, 15)), Context{}, result.OverTarget},
		{"top under", with(0, est(0, 1, 2)), Context{}, result.ShortOfTarget},
		{"pan over", with(3, est(11, 14, 17)), Context{}, result.ShortOfTarget},
		{"middle alone under", with(1, est(30, 38, 44)), Context{}, result.Undecided},
		{"top and pan over: uneven", boxes4(est(9, 12, 15), in[1], in[2], est(11, 14, 17)), Context{}, result.Undecided},
	}
	for _, c := range cases {
		v, _ := Judge(c.s, c.ctx, DefaultSet())
		if word(v.Pieces) != c.want {
			t.Errorf("%s: %s, want %s", c.name, word(v.Pieces), c.want)
		}
	}
}

// The length is judged only against a known length of cut, and scaling both changes nothing.
func TestLengthAgainstCut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.Float64Range(0.5, 2).Draw(t, "k")
		mean := rapid.Float64Range(2, 20).Draw(t, "mean")
		cut := rapid.Float64Range(5, 25).Draw(t, "cut")
		s := func(k float64) *result.Sample {
			return &result.Sample{Pieces: &result.Pieces{GeometricMeanMM: est(mean*k*0.9, mean*k, mean*k*1.1)}}
		}
		if v, _ := Judge(s(1), Context{}, DefaultSet()); v.Pieces != nil {
			t.Fatal("judged without a length of cut")
		}
		a, _ := Judge(s(1), Context{TLOCMM: &cut}, DefaultSet())
		b, _ := Judge(s(k), Context{TLOCMM: ptr(cut * k)}, DefaultSet())
		l, _ := DefaultSet().Line(LengthOverCut)
		edge := false
		for _, e := range []float64{0.9, 1.1} {
			for _, m := range []float64{*l.Min, *l.Max} {
				r := mean * e / cut / m
				edge = edge || (r > 1-1e-9 && r < 1+1e-9)
			}
		}
		if !edge && word(a.Pieces) != word(b.Pieces) {
			t.Fatalf("%s and %s after scaling by %g", word(a.Pieces), word(b.Pieces), k)
		}
	})
}

func drawEstimate(t *rapid.T, name string) *result.Estimate {
	low := rapid.Float64Range(0, 100).Draw(t, name)
	width := rapid.Float64Range(0, 30).Draw(t, name+" width")
	high := min(100, low+width)
	return est(low, (low+high)/2, high)
}

func maybe(t *rapid.T, name string, low, high float64) *float64 {
	if rapid.Bool().Draw(t, name+" unknown") {
		return nil
	}
	return ptr(rapid.Float64Range(low, high).Draw(t, name))
}

func drawContext(t *rapid.T) Context {
	return Context{
		Process:       rapid.SampledFrom([]string{"", "conventional", "shredding", "unprocessed"}).Draw(t, "process"),
		State:         rapid.SampledFrom([]string{"", Fresh, Fermented}).Draw(t, "state"),
		DMPct:         maybe(t, "dm", 5, 95),
		TLOCMM:        maybe(t, "tloc", 2, 60),
		RollGapMM:     maybe(t, "gap", 0, 20),
		SpeedDiffPct:  maybe(t, "speed", 0, 100),
		KnifeHours:    maybe(t, "knife", 0, 1000),
		ThroughputTPH: maybe(t, "throughput", 0, 1000),
	}
}

var gapTo = regexp.MustCompile(`roll gap from [0-9.]+ to ([0-9.]+) mm`)
var cutTo = regexp.MustCompile(`cut from [0-9.]+ to ([0-9.]+) mm`)

// Whatever is known: at most three changes, each complete, none outside the documented ranges.
func TestAdviceIsBounded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		set := rapid.SampledFrom(Targets().Sets).Draw(t, "set")
		s := boxes4(drawEstimate(t, "top"), drawEstimate(t, "middle"), drawEstimate(t, "lower"), drawEstimate(t, "pan"))
		s.Pieces.GeometricMeanMM = drawEstimate(t, "length")
		s.Kernels = kernels(0, 0, 0).Kernels
		s.Kernels.Passing475Pct = drawEstimate(t, "passing")
		ctx := drawContext(t)
		if err := ctx.Validate(); err != nil {
			t.Fatal(err)
		}
		_, got := Judge(s, ctx, set)
		if len(got) > 3 {
			t.Fatalf("%d changes", len(got))
		}
		for _, a := range got {
			all := a.Do + a.Why + a.Check + a.Caution
			if a.Do == "" || a.Why == "" || a.Check == "" || a.Caution == "" || strings.Contains(all, "no value") || strings.Contains(all, "()") {
				t.Fatalf("incomplete: %+v", a)
			}
			inside(t, gapTo, a.Do, 1, 3)
			inside(t, cutTo, a.Do, 9.5, 30)
			if ctx.State == Fermented && strings.Contains(a.Caution, "lock it out") && set.Material != "mixed-ration" {
				t.Fatalf("machine advice on fermented silage: %s", a.Do)
			}
		}
	})
}

func inside(t *rapid.T, r *regexp.Regexp, s string, low, high float64) {
	if m := r.FindStringSubmatch(s); m != nil {
		v, err := strconv.ParseFloat(m[1], 64)
		if err != nil || v < low || v > high {
			t.Fatalf("%q leaves %g to %g", s, low, high)
		}
	}
}

func TestOrderOfAdvice(t *testing.T) {
	late := Context{DMPct: ptr(37.0), RollGapMM: ptr(2.5), SpeedDiffPct: ptr(20.0), TLOCMM: ptr(19.0)}
	_, a := Judge(kernels(50, 58, 64), late, DefaultSet())
	if len(a) != 3 || !strings.HasPrefix(a[0].Do, "Close the roll gap from 2.5 to 2 mm") || !strings.Contains(a[1].Do, "speed difference") {
		t.Errorf("late crop: %+v", a)
	}
	early := late
	early.DMPct = ptr(30.0)
	_, a = Judge(kernels(50, 58, 64), early, DefaultSet())
	if !strings.Contains(a[0].Do, "speed difference") || !strings.Contains(a[1].Why, "Expect little") {
		t.Errorf("early crop: %+v", a)
	}
	_, a = Judge(kernels(64, 70, 76), late, DefaultSet())
	if len(a) != 1 || !strings.HasPrefix(a[0].Do, "Change nothing yet") {
		t.Errorf("undecided: %+v", a)
	}
	_, a = Judge(kernels(74, 80, 86), late, DefaultSet())
	if len(a) != 0 {
		t.Errorf("on target: %+v", a)
	}
}

func TestContradictionsAreSaid(t *testing.T) {
	ctx := Context{Process: "shredding", TLOCMM: ptr(28.0), RollGapMM: ptr(1.0), ThroughputTPH: ptr(260.0), SpeedDiffPct: ptr(40.0)}
	set, err := Targets().Find("maize-silage/shredding")
	if err != nil {
		t.Fatal(err)
	}
	_, a := Judge(kernels(50, 58, 64), ctx, set)
	if len(a) == 0 || !strings.Contains(a[0].Why, "contradict") {
		t.Errorf("long, tight, fast: %+v", a)
	}
	fine := boxes4(est(0, 1, 2), est(50, 55, 60), est(22, 26, 29), est(11, 14, 17))
	fine.Kernels = kernels(50, 58, 64).Kernels
	_, a = Judge(fine, Context{RollGapMM: ptr(2.0), TLOCMM: ptr(22.0)}, DefaultSet())
	said := slices.ContainsFunc(a, func(a result.Advice) bool { return strings.Contains(a.Why, "opposite") })
	shorter := slices.ContainsFunc(a, func(a result.Advice) bool { return strings.HasPrefix(a.Do, "Shorten") })
	if !said || shorter {
		t.Errorf("short kernels in fine chop: %+v", a)
	}
}

// The moisture-dependent mark of 2 × DM % − 5: Hoffman 2020, trade article. At 35 % DM it is 65, at 40 % 75.
func TestMarkByDryMatter(t *testing.T) {
	set, err := Targets().Find("maize-silage/by-dry-matter")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		dm   *float64
		want string
	}{{ptr(35.0), result.OnTarget}, {ptr(40.0), result.ShortOfTarget}, {ptr(37.0), result.Undecided}, {nil, "none"}} {
		v, a := Judge(kernels(66, 69, 72), Context{DMPct: c.dm}, set)
		if word(v.Kernels) != c.want {
			t.Errorf("%v: %s, want %s", c.dm, word(v.Kernels), c.want)
		}
		if c.want == result.ShortOfTarget && !strings.Contains(a[0].Why, "the mark is 75 %") {
			t.Errorf("%+v", a)
		}
	}
}

// Long-cut chop from shredding rolls puts a third or more on the top sieve (common practice): what is
// over target after conventional rolls is on target there.
func TestLongCutIsNotTooCoarse(t *testing.T) {
	s := boxes4(est(36, 38, 40), est(40, 42, 44), est(12, 13, 15), est(5, 7, 8))
	set, err := Targets().Pick("maize-silage", "shredding", "19-8-4")
	if err != nil {
		t.Fatal(err)
	}
	if v, _ := Judge(s, Context{}, set); word(v.Pieces) != result.OnTarget {
		t.Errorf("shredding: %s", word(v.Pieces))
	}
	if v, _ := Judge(s, Context{}, DefaultSet()); word(v.Pieces) != result.OverTarget {
		t.Errorf("conventional: %s", word(v.Pieces))
	}
}

func TestJudgeSharesOfAnOlderBox(t *testing.T) {
	set, err := Targets().Pick("mixed-ration", "", "19-8-1.18")
	if err != nil {
		t.Fatal(err)
	}
	point := func(v float64) result.Estimate { return result.Estimate{Value: v, Low: v, High: v} }
	_, v, a := JudgeShares(map[string]result.Estimate{TopPct: point(1), MiddlePct: point(35), LowerPct: point(40), PanPct: point(24)}, Context{}, set)
	if word(v.Pieces) != result.ShortOfTarget || len(a) == 0 || !strings.Contains(a[0].Do, "Mix for less time") {
		t.Errorf("%s %+v", word(v.Pieces), a)
	}
}

func TestContextRefusesMixedUnits(t *testing.T) {
	for _, c := range []Context{{RollGapMM: ptr(200.0)}, {DMPct: ptr(0.35)}, {TLOCMM: ptr(0.75)}, {State: "old"}, {Process: "rolls"}} {
		if c.Validate() == nil {
			t.Errorf("%+v accepted", c)
		}
	}
}

func TestWaterTestGuard(t *testing.T) {
	if GuardWaterTest(Fermented, "kernels") == nil || GuardWaterTest(Fermented, "mixed") != nil || GuardWaterTest(Fresh, "kernels") != nil {
		t.Error("the guard must refuse washed kernels of fermented silage alone")
	}
}
