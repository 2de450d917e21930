package pipeline

import (
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"gristmark/internal/intake"
	"gristmark/internal/result"
)

// Group says which photos of a folder are one sample.
type Group string

// The ways to group.
const (
	ByFolder Group = "folder" // the photos of each folder; those directly in the top one too
	ByName   Group = "name"   // within a folder, those whose names differ in a last one- or two-digit number alone
	ByPhoto  Group = "photo"  // each photo by itself
)

// Batch is the photos of one sample in a folder.
type Batch struct {
	Name   string // path within the folder with slashes; the folder's own name for photos directly in it
	Photos []string

	Settings result.Settings   // what was told of the sample
	Refused  map[string]string // of the photos, those that are not even looked at, and why
}

// Grouping puts the photos of a folder, given by their sorted paths within it, into samples, and lists those that belong to
// none. Top is the folder's own name. The error is the caller's fault.
type Grouping func(top string, photos []string) (list []Batch, left []string, err error)

// photoEndings are those of files that are taken for photos, and refused if they are none. Files of other
// endings are left alone, unless they have no ending and look like a photo.
var photoEndings = []string{".jpg", ".jpeg", ".jfif", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif", ".avif", ".gif", ".bmp", ".dng", ".cr2", ".cr3", ".nef", ".arw"}

// shotNumber is the end of a name that numbers the shots of a sample: load7_2, load7-b.
var shotNumber = regexp.MustCompile(`[-_ .]([0-9]{1,2}|[a-zA-Z])$|\s*\([0-9]{1,2}\)$`)

// Samples lists the photos of a folder in samples, sorted; paths are relative to the folder, with
// slashes. Hidden files and folders are left out; links to folders are not followed.
func Samples(folder string, group Group) ([]Batch, error) {
	list, _, err := Gather(folder, ByGroup(group))
	return list, err
}

// Gather lists the photos of a folder as [Samples] does, grouped in any way, and those that belong to no sample.
func Gather(folder string, grouping Grouping) (list []Batch, left []string, err error) {
	photos, err := photosIn(folder)
	if err != nil {
		return nil, nil, err
	}
	return GatherPhotos(folder, photos, grouping)
}

// GatherPhotos is [Gather] for these photos of the folder alone.
func GatherPhotos(folder string, photos []string, grouping Grouping) (list []Batch, left []string, err error) {
	list, left, err = grouping(topName(folder), slices.Sorted(slices.Values(photos)))
	slices.SortFunc(list, func(a, b Batch) int { return strings.Compare(a.Name, b.Name) })
	return list, left, err
}

// ByGroup groups by folder, by name or photo by photo.
func ByGroup(group Group) Grouping {
	return func(top string, photos []string) ([]Batch, []string, error) {
		g := gatherer{}
		for _, p := range photos {
			b := g.sample(sampleName(p, group, top))
			b.Photos = append(b.Photos, p)
		}
		return g.list(), nil, nil
	}
}

// gatherer collects samples by their names.
type gatherer map[string]*Batch

func (g gatherer) sample(name string) *Batch {
	b := g[name]
	if b == nil {
		b = &Batch{Name: name}
		g[name] = b
	}
	return b
}

func (g gatherer) list() []Batch {
	var out []Batch
	for _, b := range g {
		out = append(out, *b)
	}
	return out
}

func topName(folder string) string {
	abs, err := filepath.Abs(folder)
	if name := filepath.Base(abs); err == nil && name != "/" && name != "." {
		return name
	}
	return "folder"
}

// sampleName of a photo given by its path within the folder.
func sampleName(photo string, group Group, top string) string {
	dir, file := filepath.Split(filepath.FromSlash(photo))
	dir = strings.Trim(filepath.ToSlash(dir), "/")
	stem := strings.TrimSuffix(file, filepath.Ext(file))
	join := func(name string) string { return strings.TrimPrefix(dir+"/"+name, "/") }
	switch group {
	case ByPhoto:
		return join(file)
	case ByName:
		if short := shotNumber.ReplaceAllString(stem, ""); short != "" {
			stem = short
		}
		return join(stem)
	}
	if dir == "" {
		return top + "/." // no sub-folder can bear this name
	}
	return dir
}

func photosIn(folder string) ([]string, error) {
	var photos []string
	err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return fmt.Errorf("pipeline: the folder cannot be read: %w", err)
		case path == folder:
			return nil
		case strings.HasPrefix(d.Name(), ".") && d.IsDir():
			return fs.SkipDir
		case d.IsDir(), strings.HasPrefix(d.Name(), "."), !looksLikePhoto(path):
			return nil
		}
		rel, err := filepath.Rel(folder, path)
		photos = append(photos, filepath.ToSlash(rel))
		return err
	})
	slices.Sort(photos)
	return photos, err
}

// looksLikePhoto goes by the ending, and where there is none by the first bytes.
func looksLikePhoto(path string) bool {
	ending := strings.ToLower(filepath.Ext(path))
	if slices.Contains(photoEndings, ending) {
		return true
	}
	info, err := os.Stat(path)
	if ending != "" || err != nil || !info.Mode().IsRegular() {
		return false
	}
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, 32)
	n, _ := io.ReadFull(f, head)
	return intake.LooksLikePhoto(head[:n])
}
