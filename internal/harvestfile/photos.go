package harvestfile

import (
	"path/filepath"
	"slices"

	"gristmark/internal/result"
)

// Photo is a line of the table that names photos.
type Photo struct {
	Line     int
	Photo    string // path within the folder, with slashes
	Sample   string
	Settings result.Settings
}

// Photos reads the table of photos: a line a photo under a header with photo and sample; further columns are settings of the sample.
// Name stands in the sentences of faults; the error is of type [Faults].
func Photos(name string, data []byte) ([]Photo, error) {
	known := append([]string{"photo", "sample"}, Columns()...)
	t, err := readTable(name, data, func(c string) (string, string) {
		switch {
		case c == "file":
			return "photo", ""
		case slices.Contains(known, c):
			return c, ""
		}
		return "", unknown(c, known)
	})
	if err != nil {
		return nil, err
	}
	t.need("photo", "it names each photo by its path within the folder")
	t.need("sample", "it names the sample of each photo")
	if len(t.faults) > 0 {
		return nil, t.faults
	}
	var photos []Photo
	lines := map[string]int{}     // of each photo
	samples := map[string]Photo{} // first photo of each sample
	for _, r := range t.rows {
		p := Photo{Line: r.line, Photo: cleanPath(t.cell(r, "photo")), Sample: cleanPath(t.cell(r, "sample")), Settings: t.settings(r)}
		switch {
		case p.Photo == "":
			t.fault(r.line, "the photo is empty; name it, or take the line out")
			continue
		case p.Sample == "":
			t.fault(r.line, "the sample of %s is empty; name it, or take the line out", p.Photo)
			continue
		}
		for _, c := range [][2]string{{"photo", p.Photo}, {"sample", p.Sample}} {
			if !filepath.IsLocal(filepath.FromSlash(c[1])) {
				t.fault(r.line, "the %s %q leads out of the folder; write it without .. and without a drive", c[0], c[1])
			}
		}
		if other, twice := lines[p.Photo]; twice {
			t.fault(r.line, "the photo %s stands there twice, on line %d too", p.Photo, other)
		}
		lines[p.Photo] = r.line
		if first, ok := samples[p.Sample]; !ok {
			samples[p.Sample] = p
		} else if why := Differ(first.Settings, p.Settings); why != "" {
			t.fault(r.line, "sample %s: %s, but on line %d it is another; a sample has one setting each", p.Sample, why, first.Line)
		} else {
			p.Settings = p.Settings.Over(first.Settings)
			first.Settings = p.Settings
			samples[p.Sample] = first
		}
		photos = append(photos, p)
	}
	for i := range photos {
		photos[i].Settings = samples[photos[i].Sample].Settings
	}
	return photos, t.faults.or()
}

// Differ names the first setting that both tell and that is not the same, with its value in b; empty where they agree.
func Differ(a, b result.Settings) string {
	for _, c := range columns {
		if c.number != nil {
			x, y := *c.number(&a), *c.number(&b)
			if x != nil && y != nil && *x != *y {
				return c.name + " is " + trim(*y)
			}
			continue
		}
		if x, y := *c.word(&a), *c.word(&b); x != "" && y != "" && x != y {
			return c.name + " is " + y
		}
	}
	return ""
}
