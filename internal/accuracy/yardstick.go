package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"

	"gristmark/internal/result"
)

// yardstickJob is what scripts/yardstick.py is told of a scene, with the truth that it is given.
type yardstickJob struct {
	Photo   string        `json:"photo"`
	Out     string        `json:"out"`
	MMPerPx float64       `json:"mm_per_px"`
	Show    string        `json:"show"`
	Tray    []result.XY   `json:"tray_px"`
	Exclude [][]result.XY `json:"exclude_px"`
}

// runYardstick runs the plain scikit-image chain over scenes that have no result of it yet.
func runYardstick(python, script string, jobs []yardstickJob) error {
	if len(jobs) == 0 {
		return nil
	}
	in, err := json.Marshal(jobs)
	if err != nil {
		return err
	}
	cmd := exec.Command(python, script)
	cmd.Stdin, cmd.Stderr = bytes.NewReader(in), os.Stderr
	// One thread each: the scenes are spread over the processors already.
	cmd.Env = append(os.Environ(), "OMP_NUM_THREADS=1", "OPENBLAS_NUM_THREADS=1")
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("accuracy: %s %s: %w", python, script, err)
	}
	return nil
}

// readDocument reads a measurement document from a file.
func readDocument(path string) (result.Document, error) {
	var d result.Document
	data, err := os.ReadFile(path)
	if err != nil {
		return d, err
	}
	return d, json.Unmarshal(data, &d)
}
