package pipeline

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"
)

func TestWriteStreamIsWholeOrNothing(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.csv")
	fault := errors.New("no more")
	write := func(text string, err error) error {
		return WriteStream(path, func(w io.Writer) error {
			_, fault := io.WriteString(w, text)
			return errors.Join(fault, err)
		})
	}
	if err := write("first", nil); err != nil {
		t.Fatal(err)
	}
	if err := write("half", fault); !errors.Is(err, fault) {
		t.Errorf("error %v", err)
	}
	data, err := os.ReadFile(path)
	if err != nil || string(data) != "first" {
		t.Errorf("the file holds %q, %v", data, err)
	}
	if left, _ := os.ReadDir(dir); len(left) != 1 {
		t.Errorf("%d files are left, want 1", len(left))
	}
}
