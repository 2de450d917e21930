package judge

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"gristmark/internal/advice"
	"gristmark/internal/estimate"
	"gristmark/internal/result"
)

// tray is a photo with 12 whole and 20 broken kernels, 10 straws, and 6 pieces that could be anything.
func tray(file string) result.Photo {
	p := result.Photo{File: file, Status: result.Measured, Scale: &result.Scale{MMPerPx: 0.06, RelativeSD: 0.004}, Checks: []result.Check{}}
	add := func(n int, q result.Particle) {
		for i := range n {
			q.ID, q.Weight, q.AtPx = len(p.Particles)+1, 1, result.XY{float64(100 * i), 50}
			q.LengthMM, q.WidthMM = q.MaxFeretMM, q.MinFeretMM
			p.Particles = append(p.Particles, q)
		}
	}
	add(12, result.Particle{Class: result.WholeKernel, Probability: 0.97, PWhole: 0.97, PBroken: 0.03, MaxFeretMM: 10.5, MinFeretMM: 7.3, CentreLineMM: 10.5, AreaMM2: 60})
	add(20, result.Particle{Class: result.BrokenKernel, Probability: 0.95, PWhole: 0.02, PBroken: 0.95, PStover: 0.03, MaxFeretMM: 6, MinFeretMM: 4, CentreLineMM: 6, AreaMM2: 19})
	add(10, result.Particle{Class: result.Stover, Probability: 1, PStover: 1, MaxFeretMM: 16, MinFeretMM: 2, CentreLineMM: 17, AreaMM2: 32})
	add(6, result.Particle{Class: result.Unsure, Probability: 0.4, PWhole: 0.25, PBroken: 0.4, PStover: 0.35, MaxFeretMM: 9, MinFeretMM: 5, CentreLineMM: 11, AreaMM2: 33})
	return p
}

func document(t *testing.T, opt Options, photos ...result.Photo) result.Document {
	t.Helper()
	doc := result.Document{Schema: result.Schema, Photos: photos}
	s := Estimate(photos, opt)
	s.Notes = append(s.Notes, photos[0].File+": left out as hair: 1")
	if err := Finish(s, opt); err != nil {
		t.Fatal(err)
	}
	doc.Sample = s
	data, err := json.Marshal(doc)
	if err != nil {
		t.Fatal(err)
	}
	var back result.Document
	if err := json.Unmarshal(data, &back); err != nil {
		t.Fatal(err)
	}
	return back
}

func options() Options { return Options{Targets: advice.DefaultSet()} }

// A document read back and reviewed without a correction is judged as it was.
func TestReviewOfNothingChangesNothing(t *testing.T) {
	doc := document(t, options(), tray("a.jpg"), tray("b.jpg"))
	got, uncorrected, err := Review(doc, nil, options())
	if err != nil || uncorrected != nil {
		t.Fatal(err, uncorrected)
	}
	if !reflect.DeepEqual(got, doc) {
		t.Errorf("it changed:\n%+v\n%+v", got.Sample, doc.Sample)
	}
}

func TestReviewRecomputes(t *testing.T) {
	doc := document(t, options(), tray("a.jpg"))
	var list []estimate.Correction
	for id := 43; id <= 46; id++ {
		list = append(list, estimate.Correction{ID: id, Class: result.WholeKernel})
	}
	list = append(list, estimate.Correction{ID: 47, Class: estimate.NoPiece}, estimate.Correction{ID: 48, Class: result.Stover})
	got, _, err := Review(doc, list, options())
	if err != nil {
		t.Fatal(err)
	}
	k := got.Sample.Kernels
	if k.Whole != 16 || k.Broken != 20 || got.Sample.Pieces.N != 11 || Unsure(got.Photos) != 0 {
		t.Errorf("counted %d whole, %d broken, %d of stover", k.Whole, k.Broken, got.Sample.Pieces.N)
	}
	if k.WholePct.Value <= doc.Sample.Kernels.WholePct.Value {
		t.Errorf("whole %g %%, before %g", k.WholePct.Value, doc.Sample.Kernels.WholePct.Value)
	}
	notes := strings.Join(got.Sample.Notes, "\n")
	for _, want := range []string{"5 piece(s) were named by a person", "1 piece(s) were left out by a person", "a.jpg: left out as hair: 1"} {
		if !strings.Contains(notes, want) {
			t.Errorf("no note %q in %q", want, notes)
		}
	}
	if Unsure(doc.Photos) != 6 || doc.Sample.Kernels.Whole != 12 {
		t.Error("the document given was changed")
	}
	if _, _, err := Review(doc, []estimate.Correction{{ID: 99, Class: result.Stover, Line: 7}}, options()); !errors.As(err, new(estimate.CorrectionError)) {
		t.Errorf("piece 99: %v", err)
	}
}

// What is written of the unsure pieces is read back as corrections once the class is filled in, and says nothing before.
func TestUnsureTableIsReadBack(t *testing.T) {
	again := tray("b.jpg")
	again.DuplicateOf = "a.jpg"
	var b bytes.Buffer
	if err := WriteUnsure(&b, []result.Photo{tray("a.jpg"), again}); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(b.String()), "\n")
	if len(lines) != 7 || lines[1] != "a.jpg,43,,0,50,9.0,5.0,broken_kernel,0.40" {
		t.Fatalf("wrote %q", lines)
	}
	list, err := ParseCorrections(b.Bytes())
	if err != nil || len(list) != 0 {
		t.Errorf("unfilled: %v, %v", list, err)
	}
	list, err = ParseCorrections([]byte(strings.ReplaceAll(b.String(), ",,", ",Whole,")))
	if err != nil || len(list) != 6 || list[0] != (estimate.Correction{Photo: "a.jpg", ID: 43, Class: result.WholeKernel, Line: 2}) {
		t.Errorf("filled: %v, %v", list, err)
	}
}

func TestParseCorrections(t *testing.T) {
	list, err := ParseCorrections([]byte("\xef\xbb\xbfID;Class\r\n3;broken\r\n\r\n# a remark\r\n4;whole kernel\r\n5;nothing\r\n6;stover\r\n"))
	want := []estimate.Correction{{ID: 3, Class: result.BrokenKernel, Line: 2}, {ID: 4, Class: result.WholeKernel, Line: 5}, {ID: 5, Class: estimate.NoPiece, Line: 6}, {ID: 6, Class: result.Stover, Line: 7}}
	if err != nil || !slices.Equal(list, want) {
		t.Errorf("got %v, %v", list, err)
	}
	for text, want := range map[string]string{
		"":                                "the file is empty",
		"id,name\n1,whole":                "line 1: no column class",
		"class\nwhole":                    "line 1: no column id",
		"id,class\n1,whole\nx,broken":     `line 3: "x" is no number of a piece`,
		"id,class\n0,whole":               `line 2: "0" is no number`,
		"photo,id,class\na.jpg,1.5,whole": `line 2: "1.5" is no number`,
	} {
		if _, err := ParseCorrections([]byte(text)); err == nil || !strings.Contains(fmt.Sprint(err), want) {
			t.Errorf("%q: got %v, want %q", text, err, want)
		}
	}
}
