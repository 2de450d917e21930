package pipeline

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"gristmark/internal/intake"
)

// Of the profiles of a folder, a photo takes that of its own camera at its own zoom, and one without a name takes none.
func TestProfilesOfAFolder(t *testing.T) {
	dir := t.TempDir()
	keep := func(p CameraProfile) {
		data, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, ProfileFile(p)), data, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	p := testProfile()
	p.FocalMM = 4.2
	keep(p)
	p.FocalMM, p.FocalXPx, p.FocalYPx = 9, 6000, 6000
	keep(p)
	if err := os.WriteFile(filepath.Join(dir, "spoilt.json"), []byte("{"), 0o666); err != nil {
		t.Fatal(err)
	}
	all, err := ReadProfiles(dir)
	if err == nil || all.Len() != 2 || all.Key() == "" {
		t.Fatalf("%d profiles, %v", all.Len(), err)
	}
	photo := intake.Intake{Make: "Plain", Model: "P 12", FocalMM: 9, WidthPx: 4000, HeightPx: 3000, Orientation: 1}
	if l, ok := all.Lens(&photo); !ok || l.FocalXPx != 6000 || all.NameFor(&photo) != "plain-p-12-9mm.json" {
		t.Errorf("%v %v %q", l, ok, all.NameFor(&photo))
	}
	for name, change := range map[string]func(*intake.Intake){
		"no name": func(in *intake.Intake) { in.Make, in.Model = "", "" }, "zoomed": func(in *intake.Intake) { in.FocalMM = 6 },
		"no zoom": func(in *intake.Intake) { in.FocalMM = 0 }, "another lens": func(in *intake.Intake) { in.Lens = "wide" },
	} {
		in := photo
		change(&in)
		if _, ok := all.Lens(&in); ok {
			t.Errorf("%s: a profile was taken", name)
		}
	}
	if none, err := ReadProfiles(filepath.Join(dir, "none")); err != nil || none.Len() != 0 || none.Key() != "" {
		t.Errorf("a folder that is not there: %v", err)
	}
}
