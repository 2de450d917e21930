package score

import (
	"math"
	"testing"

	"gristmark/internal/result"
)

func particle(x, y, side float64, class result.Class, length float64) result.Particle {
	p := result.Particle{Class: class, AtPx: result.XY{x + side/2, y + side/2}, OutlinePx: square(x, y, side),
		LengthMM: length, WidthMM: length / 2, AreaMM2: length * length / 2}
	switch class {
	case result.WholeKernel:
		p.PWhole = 1
	case result.BrokenKernel:
		p.PBroken = 1
	case result.Stover:
		p.PStover = 1
	}
	return p
}

func sized(t Thing, class result.Class, length float64) Thing {
	t.Class, t.LengthMM, t.WidthMM, t.AreaMM2 = class, length, length/2, length*length/2
	return t
}

func measured(particles ...result.Particle) result.Document {
	return result.Document{Photos: []result.Photo{{Status: result.Measured, Particles: particles, Scale: &result.Scale{MMPerPx: 0.101}}}}
}

// Four truths; found: one right, one with the wrong name, one longer by 10 %, one missed, one extra.
func TestFamilyAdd(t *testing.T) {
	truth := Truth{Name: "a", Usable: true, MMPerPx: 0.1, Things: []Thing{
		sized(thing(0, 0, 10), result.WholeKernel, 10), sized(thing(20, 0, 10), result.BrokenKernel, 5),
		sized(thing(40, 0, 10), result.Stover, 20), sized(thing(60, 0, 10), result.Stover, 20)},
		Scene: map[string]float64{"geometric mean": 20, "over 19 mm": 60}, Lot: map[string]float64{"geometric mean": 21}}
	doc := measured(particle(0, 0, 10, result.WholeKernel, 10), particle(20, 0, 10, result.Stover, 5),
		particle(40, 0, 10, result.Stover, 22), particle(80, 0, 10, result.Stover, 9))
	doc.Sample = &result.Sample{Pieces: &result.Pieces{GeometricMeanMM: &result.Estimate{Value: 22, Low: 20, High: 24, Level: 0.95}}}
	f := NewFamily("x")
	f.Add(truth, doc)

	if want := (Counts{Hits: 3, Misses: 1, Extras: 1}); f.Loose != want {
		t.Errorf("detection %+v, want %+v", f.Loose, want)
	}
	for key, want := range map[Key]int{{result.WholeKernel, result.WholeKernel}: 1, {result.BrokenKernel, result.Stover}: 1,
		{result.Stover, result.Stover}: 1, {result.Stover, Missed}: 1} {
		if f.Confusion[key] != want {
			t.Errorf("confusion %v: %d, want %d", key, f.Confusion[key], want)
		}
	}
	if got := f.SideRight(); got != 2.0/3 {
		t.Errorf("kernel against stover %v, want two thirds", got)
	}
	if got := f.Sizes["stover length"]; len(got) != 1 || math.Abs(got[0]-10) > 1e-9 {
		t.Errorf("stover length errors %v, want 10 %%", got)
	}
	if got := f.Sizes["kernel length"]; len(got) != 1 || got[0] != 0 {
		t.Errorf("kernel length errors %v, want one of 0: the piece with the wrong name has another definition of length", got)
	}
	if got := f.ScaleErrors[0]; math.Abs(got-1) > 1e-9 {
		t.Errorf("scale error %v, want 1 %%", got)
	}
	if f.CountErrors[0] != 0 {
		t.Errorf("count error %v: one missed and one extra make the right count", f.CountErrors[0])
	}
	mean := f.Numbers["geometric mean"]
	if math.Abs(mean.Errors[0]-10) > 1e-9 || mean.Covered != 1 || mean.Of != 1 || math.Abs(mean.Widths[0]-20) > 1e-9 {
		t.Errorf("geometric mean %+v, want error 10 %%, lot covered, width 20 %%", *mean)
	}
	if f.Numbers["over 19 mm"].Absent != 1 {
		t.Error("a number that was not stated is not counted as absent")
	}
	var stated, came float64
	for _, b := range f.Reliability {
		stated, came = stated+b.Sum, came+b.Correct
	}
	if stated != 3 || came != 3 {
		t.Errorf("probabilities stated %v, came true %v, want 3 pieces each", stated, came)
	}
}

func TestRefusedUsableSceneIsAllMissed(t *testing.T) {
	truth := Truth{Name: "a", Usable: true, Things: []Thing{sized(thing(0, 0, 10), result.Stover, 10), sized(thing(20, 0, 10), result.Stover, 10)}}
	why := "too dark"
	f := NewFamily("x")
	f.Add(truth, result.Document{Photos: []result.Photo{{Status: result.Refused, Problem: &why,
		Particles: []result.Particle{particle(0, 0, 10, result.Stover, 10)}}}})
	if want := (Counts{Misses: 2}); f.Loose != want || f.Strict != want {
		t.Errorf("got %+v and %+v, want %+v", f.Loose, f.Strict, want)
	}
	if len(f.Refused) != 1 || f.Refused[0] != "a: too dark" {
		t.Errorf("refused: %v", f.Refused)
	}
	if f.Confusion[Key{result.Stover, Missed}] != 2 {
		t.Error("missed pieces are absent from the confusion table")
	}
}

func TestUnusableSceneOughtToBeRefused(t *testing.T) {
	truth := Truth{Name: "a", Things: []Thing{sized(thing(0, 0, 10), result.Stover, 10)}}
	f := NewFamily("x")
	f.Add(truth, result.Document{Photos: []result.Photo{{Status: result.Refused}}})
	f.Add(truth, measured())
	if f.Unusable != 2 || len(f.UnusableAccepted) != 1 || f.Loose != (Counts{}) {
		t.Errorf("%d unusable, accepted %v, counts %+v", f.Unusable, f.UnusableAccepted, f.Loose)
	}
}

func TestMergeAddsUp(t *testing.T) {
	truth := Truth{Name: "a", Usable: true, MMPerPx: 0.1, Things: []Thing{sized(thing(0, 0, 10), result.Stover, 10)}}
	one, sum := NewFamily("x"), NewFamily("all")
	one.Add(truth, measured(particle(0, 0, 10, result.Stover, 10)))
	sum.Merge(one)
	sum.Merge(one)
	if sum.Scenes != 2 || sum.Loose.Hits != 2 || len(sum.Sizes["stover area"]) != 2 || sum.Reliability[Bins-1].N != 2 || len(sum.ScaleErrors) != 2 {
		t.Errorf("merged: %+v", sum)
	}
}

func TestReadTruth(t *testing.T) {
	data := []byte(`{"mm_per_px":0.1,"usable":false,"things":[
		{"class":"stover","at_px":[5,5],"outline_px":[[-5,0],[5,0],[5,10],[-5,10]],"length_mm":10},
		{"class":"soil","at_px":[50,50],"outline_px":[[45,45],[55,45],[50,55]],"length_mm":3},
		{"class":"broken_kernel","at_px":[70,70],"outline_px":[[70,70],[71,70],[70,71]],"length_mm":0.4},
		{"class":"stover","at_px":[-50,5],"outline_px":[[-55,0],[-45,0],[-45,10]],"length_mm":10}],
		"scene":{"kernels":{"whole_pct":12.5},"pieces":{"box_pct":{"top":{"value":6}},"length_classes_pct":{"8_to_19":40}}},
		"lot":{"whole_pct":15}}`)
	got, err := ReadTruth("a", data, 100, 100)
	if err != nil {
		t.Fatal(err)
	}
	if got.Usable || len(got.Things) != 2 {
		t.Fatalf("usable %v, %d things; soil and what lies outside the photo are no particles", got.Usable, len(got.Things))
	}
	if !got.Things[0].Cut || got.Things[0].Shape.Area() != 50 || got.Things[1].Cut || !got.Things[1].Small {
		t.Errorf("things %+v", got.Things)
	}
	if got.Scene["share whole"] != 12.5 || got.Scene["box, top"] != 6 || got.Scene["8 to 19 mm"] != 40 || got.Lot["share whole"] != 15 || len(got.Scene) != 3 {
		t.Errorf("scene %v, lot %v", got.Scene, got.Lot)
	}
	if _, err := ReadTruth("a", []byte("{"), 1, 1); err == nil {
		t.Error("half a truth file was accepted")
	}
}

func TestSummaries(t *testing.T) {
	v := []float64{4, -1, 3, -2}
	if Median(v) != 1 || Upper(v, 0.95) != 4 || Upper(v, 0.5) != -1 || Median(Abs(v)) != 2.5 {
		t.Errorf("median %v, 95 %% %v, half %v, abs %v", Median(v), Upper(v, 0.95), Upper(v, 0.5), Median(Abs(v)))
	}
	if !math.IsNaN(Median(nil)) || !math.IsNaN(Upper(nil, 0.9)) {
		t.Error("no values have no median")
	}
}

// How aslant a thing is seen is how far it lies from below the camera over the camera's height; its area counts where nothing lies on it.
func TestAslant(t *testing.T) {
	truth, err := ReadTruth("a", []byte(`{"homography": [4, 0, 100, 0, 4, 200, 0, 0, 1], "camera": {"height_mm": 250, "foot_mm": [10, 20]}, "things": [
		{"class": "stover", "at_px": [440, 680], "outline_px": [[430, 670], [450, 670], [450, 690], [430, 690]], "length_mm": 5, "area_mm2": 25},
		{"class": "stover", "at_px": [140, 280], "outline_px": [[130, 270], [150, 270], [150, 290], [130, 290]], "length_mm": 5, "area_mm2": 25, "hidden_share": 0.1}]}`), 800, 900)
	if err != nil {
		t.Fatal(err)
	}
	for k, want := range []float64{math.Hypot(75, 100) / 250, 0} {
		if got := truth.Things[k].Lean; math.Abs(got-want) > 1e-12 {
			t.Errorf("thing %d: lean %v, want %v", k, got, want)
		}
	}
	f := NewFamily("a")
	var finds []Found
	for _, g := range truth.Things {
		x, y := g.AtPx[0], g.AtPx[1]
		finds = append(finds, NewFound(result.Particle{Class: result.Stover, AreaMM2: 30, OutlinePx: []result.XY{{x - 11, y - 10}, {x + 11, y - 10}, {x + 11, y + 10}, {x - 11, y + 10}}}))
	}
	f.addSizes(truth.Things, finds, []Pair{{Truth: 0, Find: 0}, {Truth: 1, Find: 1}})
	if len(f.Aslant) != 1 || math.Abs(f.Aslant[0].Area-20) > 1e-9 || math.Abs(f.Aslant[0].Outline-10) > 1e-9 || f.Aslant[0].Kernel {
		t.Errorf("%+v", f.Aslant)
	}
}
