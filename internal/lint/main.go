// Command lint checks the directions of imports between the rooms: nothing imports upward, OpenCV is
// touched by vision and calib alone, and the renderer knows no code that detects.
//
//	go run ./internal/lint
package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
)

func main() {
	packages, err := list()
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	faults := check(packages)
	for _, f := range faults {
		fmt.Fprintln(os.Stderr, f)
	}
	if len(faults) > 0 {
		os.Exit(1)
	}
	fmt.Printf("lint: import directions of %d packages hold\n", len(packages))
}

// list asks the go command for every package of the module with its imports.
func list() ([]pkg, error) {
	cmd := exec.Command("go", "list", "-json=ImportPath,Name,Imports,TestImports,XTestImports,Deps", "./...")
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("lint: go list: %w", err)
	}
	return decode(bytes.NewReader(out))
}

// decode reads the stream of JSON objects that go list prints.
func decode(r io.Reader) ([]pkg, error) {
	var packages []pkg
	for d := json.NewDecoder(r); ; {
		var p pkg
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			return packages, nil
		} else if err != nil {
			return nil, fmt.Errorf("lint: output of go list: %w", err)
		}
		packages = append(packages, p)
	}
}
