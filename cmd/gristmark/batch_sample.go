package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"gristmark/internal/pipeline"
)

// sampleDone writes a sample's document, overlays, page, sheet and charts. Nothing of them stays in memory.
func (b *batchJob) sampleDone(name string, opt pipeline.Options, o *pipeline.Outcome) error {
	written := o
	if b.outlines {
		written = b.withOutlines(o, opt)
	}
	data, err := documentJSON(written.Document, b.outlines)
	if err != nil {
		return err
	}
	if err := b.write(documentPath(name), data); err != nil {
		return err
	}
	for k := range o.Document.Photos {
		if err := b.overlay(o, k, opt); err != nil {
			return err
		}
	}
	f := finished{name: name, opt: opt, doc: o.Document}
	f.rows = b.rowsOf(f)
	if err := errors.Join(b.samplePage(f), b.sampleCharts(f), b.operatorSheet(f)); err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.done[name] = true
	delete(b.uncorrected, name)
	if o.Uncorrected != nil {
		b.uncorrected[name] = true
	}
	return nil
}

// documentPath is where the document of a sample lies within the results.
func documentPath(sample string) string {
	return filepath.Join("documents", filepath.FromSlash(documentName(sample))+".json")
}

// documentName of a sample; that of the photos directly in the folder cannot meet one of a sub-folder.
func documentName(sample string) string {
	if top, ok := strings.CutSuffix(sample, "/."); ok {
		return top + ".top"
	}
	return sample
}

// withOutlines is the outcome with the outlines of all photos, from the store.
func (b *batchJob) withOutlines(o *pipeline.Outcome, opt pipeline.Options) *pipeline.Outcome {
	for k := range o.Document.Photos {
		o = b.withFrame(o, k, opt)
	}
	return o
}

// withFrame is the outcome with photo k as the store has it: with outlines and marks.
func (b *batchJob) withFrame(o *pipeline.Outcome, k int, opt pipeline.Options) *pipeline.Outcome {
	full := b.store.Frame(o.Document.Photos[k].SHA256, opt)
	if o.Document.Photos[k].SHA256 == "" || full == nil {
		return o
	}
	out := *o
	out.Frames, out.Document.Photos = slices.Clone(o.Frames), slices.Clone(o.Document.Photos)
	photo := &out.Document.Photos[k]
	photo.Particles = slices.Clone(photo.Particles)
	for i := range photo.Particles {
		if i < len(full.Photo.Particles) {
			photo.Particles[i].OutlinePx = full.Photo.Particles[i].OutlinePx
		}
	}
	out.Frames[k] = full
	return &out
}

// overlayPath is where the overlay of a photo lies within the results.
func overlayPath(photo string) string {
	return filepath.Join("overlays", filepath.FromSlash(photo)+".overlay.jpg")
}

// overlay draws and writes the overlay of photo k of a sample, unless the same one lies there from an earlier run; where there is none to
// draw, none stays from earlier.
func (b *batchJob) overlay(o *pipeline.Outcome, k int, opt pipeline.Options) error {
	photo := o.Document.Photos[k]
	path := overlayPath(photo.File)
	if opt.Picture && o.Frames[k].HasPicture {
		key, err := b.overlayKey(o, k, opt)
		if err != nil || isDrawn(filepath.Join(b.out, path), key) {
			return err
		}
		data, err := overlayJPEG(b.withFrame(o, k, opt), k, b.store.Picture(photo.SHA256, opt), b.words)
		if err != nil {
			return err
		}
		if data != nil {
			return b.write(path, commented(data, key))
		}
	}
	if err := os.Remove(filepath.Join(b.out, path)); err != nil && !os.IsNotExist(err) {
		return err
	}
	return nil
}

// overlayKey names everything that an overlay shows.
func (b *batchJob) overlayKey(o *pipeline.Outcome, k int, opt pipeline.Options) (string, error) {
	photo := o.Document.Photos[k]
	data, err := json.Marshal([]any{photo, o.Document.Sample, len(o.Frames), o.Refused(), b.store.Key(photo.SHA256, opt), b.words.Lang(), b.words.Units()})
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("gristmark overlay %x", sha256.Sum256(data)), nil
}

// commented puts a comment behind the first marker of a JPEG.
func commented(jpeg []byte, text string) []byte {
	out := slices.Concat(jpeg[:2], commentMarker, binary.BigEndian.AppendUint16(nil, uint16(len(text)+2)), []byte(text), jpeg[2:])
	return out
}

var commentMarker = []byte{0xFF, 0xFE}

// isDrawn reports whether the file is a JPEG with that comment.
func isDrawn(path, comment string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, 6+len(comment))
	_, err = io.ReadFull(f, head)
	return err == nil && bytes.Equal(head[2:4], commentMarker) && string(head[6:]) == comment
}

func (b *batchJob) write(path string, data []byte) error {
	path = filepath.Join(b.out, path)
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return err
	}
	return pipeline.WriteFile(path, data)
}
