package pipeline

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// WriteStream writes a file completely or not at all, without holding it in memory.
func WriteStream(path string, write func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".gristmark-*")
	if err != nil {
		return fmt.Errorf("pipeline: %s could not be written: %w", path, err)
	}
	b := bufio.NewWriterSize(f, 1<<16)
	err = errors.Join(write(b), b.Flush(), f.Chmod(0o644), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		os.Remove(f.Name())
		return fmt.Errorf("pipeline: %s could not be written: %w", path, err)
	}
	return nil
}
