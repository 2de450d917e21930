package pipeline

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// halfWritten begins the names of files that are being written.
const halfWritten = ".gristmark-"

// WriteStream writes a file completely or not at all, even where the power fails, without holding it in memory: under another name,
// through to the disk, and then under its own.
func WriteStream(path string, write func(io.Writer) error) error {
	dir := filepath.Dir(path)
	f, err := os.CreateTemp(dir, halfWritten+"*")
	if err != nil {
		return notWritten(path, err)
	}
	b := bufio.NewWriterSize(f, 1<<16)
	err = write(b)
	if err == nil {
		err = errors.Join(b.Flush(), f.Chmod(0o644), f.Sync())
	}
	if err = errors.Join(err, f.Close()); err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		os.Remove(f.Name())
		return notWritten(path, err)
	}
	syncFolder(dir)
	return nil
}

func notWritten(path string, err error) error {
	var at *fs.PathError
	if errors.As(err, &at) {
		err = at.Err
	}
	return fmt.Errorf("pipeline: %s could not be written: %w", path, err)
}

// syncFolder makes a new name last. Systems that cannot do it for a folder see to it themselves.
func syncFolder(dir string) {
	if f, err := os.Open(dir); err == nil {
		_ = f.Sync()
		f.Close()
	}
}

// RemoveHalfWritten removes what a killed run left half written in a folder and those in it.
func RemoveHalfWritten(dir string) error {
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() && strings.HasPrefix(d.Name(), halfWritten) {
			err = os.Remove(path)
		}
		return err
	})
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}
