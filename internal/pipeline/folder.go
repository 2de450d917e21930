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
}

// photoEndings are those of files that are taken for photos, and refused if they are none. Files of other
// endings are left alone, unless they have no ending and look like a photo.
var photoEndings = []string{".jpg", ".jpeg", ".jfif", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif", ".avif", ".gif", ".bmp", ".dng", ".cr2", ".cr3", ".nef", ".arw"}

// shotNumber is the end of a name that numbers the shots of a sample: load7_2, load7-b.
var shotNumber = regexp.MustCompile(`[-_ .]([0-9]{1,2}|[a-zA-Z])$|\s*\([0-9]{1,2}\)$`)

// Samples lists the photos of a folder in samples, sorted; paths are relative to the folder, with
// slashes. Hidden files and folders are left out; links to folders are not followed.
func Samples(folder string, group Group) ([]Batch, error) {
	photos, err := photosIn(folder)
	if err != nil {
		return nil, err
	}
	top := topName(folder)
	byName := map[string]*Batch{}
	var out []*Batch
	for _, p := range photos {
		name := sampleName(p, group, top)
		b := byName[name]
		if b == nil {
			b = &Batch{Name: name}
			byName[name] = b
			out = append(out, b)
		}
		b.Photos = append(b.Photos, p)
	}
	list := make([]Batch, len(out))
	for i, b := range out {
		list[i] = *b
	}
	slices.SortFunc(list, func(a, b Batch) int { return strings.Compare(a.Name, b.Name) })
	return list, nil
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
