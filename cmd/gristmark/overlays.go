package main

import (
	"bytes"
	"fmt"
	"image/jpeg"
	"os"
	"path/filepath"
	"strings"

	"gristmark/internal/pipeline"
	"gristmark/internal/report"
	"gristmark/internal/words"
)

// overlayJPEG draws what was found into the kept picture of photo i of a sample; nil where there is none.
func overlayJPEG(outcome *pipeline.Outcome, i int, kept []byte, say *words.Words) ([]byte, error) {
	if kept == nil {
		return nil, nil
	}
	f, photo := outcome.Frames[i], outcome.Document.Photos[i]
	picture, err := jpeg.Decode(bytes.NewReader(kept))
	if err != nil {
		return nil, fmt.Errorf("the overlay of %s: %w", photo.File, err)
	}
	o := report.Overlay{
		Picture: picture, Photo: photo, Sample: outcome.Document.Sample, Photos: len(outcome.Frames) - outcome.Refused(),
		Grid: f.Grid, GridMM: f.GridMM, Words: say,
	}
	for _, m := range f.Marks {
		o.Marks = append(o.Marks, report.Mark(m))
	}
	var b bytes.Buffer
	err = jpeg.Encode(&b, o.Draw(), &jpeg.Options{Quality: 88})
	return b.Bytes(), err
}

// writeOverlays writes the overlay of each photo that has a picture into dir, and returns their
// paths. No input is ever overwritten.
func writeOverlays(dir string, outcome *pipeline.Outcome, inputs []string, say *words.Words) ([]string, error) {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return nil, fmt.Errorf("the folder for overlays: %w", err)
	}
	var written []string
	taken := map[string]bool{}
	for i, f := range outcome.Frames {
		data, err := overlayJPEG(outcome, i, f.Picture, say)
		if err != nil {
			return written, err
		}
		if data == nil {
			continue
		}
		path := filepath.Join(dir, freeName(overlayName(f.Photo.File), taken))
		if err := notAnInput(path, inputs); err != nil {
			return written, err
		}
		if err := pipeline.WriteFile(path, data); err != nil {
			return written, err
		}
		written = append(written, path)
	}
	return written, nil
}

// overlayName is the photo's name with ".overlay.jpg" in place of its ending.
func overlayName(file string) string {
	base := filepath.Base(file)
	return strings.TrimSuffix(base, filepath.Ext(base)) + ".overlay.jpg"
}

// freeName numbers a name that was taken before.
func freeName(name string, taken map[string]bool) string {
	free := name
	for n := 2; taken[free]; n++ {
		free = fmt.Sprintf("%s-%d.overlay.jpg", strings.TrimSuffix(name, ".overlay.jpg"), n)
	}
	taken[free] = true
	return free
}

func notAnInput(path string, inputs []string) error {
	there, err := os.Stat(path)
	if err != nil {
		return nil
	}
	for _, in := range inputs {
		if info, err := os.Stat(in); err == nil && os.SameFile(there, info) {
			return usageErrorf("the overlay would overwrite the photo %s; choose another folder", in)
		}
	}
	return nil
}
