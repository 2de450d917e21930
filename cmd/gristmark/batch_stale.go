package main

import (
	"errors"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"gristmark/internal/pipeline"
)

// The files that belong to one sample or photo are listed in .gristmark, so that those of samples and photos that are no more, or are grouped
// otherwise now, do not stay among the results. Only files on the list are ever removed.

func (b *batchJob) listPath() string { return filepath.Join(b.store.Dir, "written.txt") }

// perSample are the files of the samples as they are now, whatever the options: paths within the results, with slashes.
func (b *batchJob) perSample() []string {
	var out []string
	for _, s := range b.samples {
		name := documentName(s.Name)
		out = append(out, path.Join("documents", name+".json"), path.Join("report/samples", name+".html"), path.Join("sheets", name+".pdf"))
		for _, chart := range []string{".kernels", ".lengths"} {
			for _, format := range []string{".png", ".svg"} {
				out = append(out, path.Join("plots/samples", name+chart+format))
			}
		}
		for _, p := range s.Photos {
			out = append(out, filepath.ToSlash(overlayPath(p)))
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// listed reads the list; none where there is no list yet.
func (b *batchJob) listed() ([]string, error) {
	data, err := os.ReadFile(b.listPath())
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	return strings.Split(strings.TrimSuffix(string(data), "\x00"), "\x00"), err
}

func (b *batchJob) keepList(list []string) error {
	return pipeline.WriteFile(b.listPath(), []byte(strings.Join(list, "\x00")+"\x00"))
}

// announce lists what will be written beside what was, before anything is.
func (b *batchJob) announce() error {
	old, err := b.listed()
	if err != nil {
		return err
	}
	all := append(old, b.perSample()...)
	slices.Sort(all)
	return b.keepList(slices.Compact(all))
}

// clear removes the listed files of what is no more.
func (b *batchJob) clear() error {
	old, err := b.listed()
	if err != nil {
		return err
	}
	now := b.perSample()
	for _, name := range old {
		if _, ours := slices.BinarySearch(now, name); ours || !filepath.IsLocal(filepath.FromSlash(name)) {
			continue
		}
		if err := os.Remove(filepath.Join(b.out, filepath.FromSlash(name))); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		for dir := path.Dir(name); dir != "."; dir = path.Dir(dir) {
			if os.Remove(filepath.Join(b.out, filepath.FromSlash(dir))) != nil {
				break // it holds others
			}
		}
	}
	return b.keepList(now)
}
