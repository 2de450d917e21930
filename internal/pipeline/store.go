package pipeline

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// Store keeps measured photos in a folder, so that what was interrupted goes on where it stopped. A
// frame is found again by the photo's content, the program's version and the options of measuring.
type Store struct {
	Dir     string
	Version string // of the program, exact enough to tell builds apart
}

// key names a frame; options of the judgement alone, such as targets, are not part of it.
func (s Store) key(sha string, opt Options) string {
	profile := ""
	if opt.Profile != nil {
		profile = opt.Profile.Key()
	}
	text, err := json.Marshal([]any{sha, s.Version, opt.Show, opt.Scale, opt.Kernel, profile, opt.Prints})
	if err != nil {
		panic(err) // plain values
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:16])
}

func (s Store) paths(key string) (frame, picture string) {
	base := filepath.Join(s.Dir, key[:2], key)
	return base + ".json.gz", base + ".jpg"
}

// Frame returns the frame that was kept, nil if there is none or it is damaged.
func (s Store) Frame(sha string, opt Options) *Frame {
	frame, picture := s.paths(s.key(sha, opt))
	data, err := os.ReadFile(frame)
	if err != nil {
		return nil
	}
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		return nil
	}
	f := &Frame{}
	if err := json.NewDecoder(z).Decode(f); err != nil {
		return nil
	}
	if _, err := os.Stat(picture); opt.Picture && f.HasPicture != (err == nil) {
		return nil
	}
	return f
}

// Key names what is kept of a photo: its content, the program's version and the options of measuring.
func (s Store) Key(sha string, opt Options) string { return s.key(sha, opt) }

// Picture is the reduced copy of a photo that was kept, nil if there is none.
func (s Store) Picture(sha string, opt Options) []byte {
	_, picture := s.paths(s.key(sha, opt))
	data, err := os.ReadFile(picture)
	if err != nil {
		return nil
	}
	return data
}

// save keeps a frame; the frame's file comes last, so that a cut leaves nothing half.
func (s Store) save(f *Frame, opt Options) error {
	frame, picture := s.paths(s.key(f.Photo.SHA256, opt))
	if err := os.MkdirAll(filepath.Dir(frame), 0o777); err != nil {
		return fmt.Errorf("pipeline: measured photos cannot be kept: %w", err)
	}
	f.HasPicture = f.Picture != nil
	if f.HasPicture {
		if err := WriteFile(picture, f.Picture); err != nil {
			return err
		}
	}
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	if err := errors.Join(json.NewEncoder(z).Encode(f), z.Close()); err != nil {
		return fmt.Errorf("pipeline: a measured photo cannot be kept: %w", err)
	}
	return WriteFile(frame, b.Bytes())
}

// WriteFile writes a file completely or not at all.
func WriteFile(path string, data []byte) error {
	return WriteStream(path, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}
