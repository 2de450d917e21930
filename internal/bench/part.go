package main

import (
	"encoding/json"
	"fmt"
	"os"
	"strconv"
	"strings"
	"syscall"
	"time"

	"gristmark/calib"
	"gristmark/internal/pages"
	"gristmark/vision"
)

// partFlag makes this program time one part and print a timing.
const partFlag = "--part"

// now is the processor time that this process has used.
func now() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return used(u)
}

// timePart runs a part on a photo so many times, or draws the photo.
func timePart(part, photo, times string) error {
	if part == "render" {
		return render(photo)
	}
	n, err := strconv.Atoi(times)
	if err != nil {
		return err
	}
	if kind, ok := strings.CutPrefix(part, "render-"); ok {
		return renderFor(kind, photo, uint64(n))
	}
	if part == rulersPart {
		times, err := timeRulers(n)
		if err != nil {
			return err
		}
		return json.NewEncoder(os.Stdout).Encode(times)
	}
	data, err := os.ReadFile(photo)
	if err != nil {
		return err
	}
	var seconds []float64
	for range n {
		took, err := partOnce(part, data)
		if err != nil {
			return err
		}
		seconds = append(seconds, took.Seconds())
	}
	return json.NewEncoder(os.Stdout).Encode(timing{seconds})
}

func partOnce(part string, data []byte) (time.Duration, error) {
	if part == "decode" {
		if err := pages.Ordinary(); err != nil {
			return 0, err
		}
	}
	began := now()
	photo, err := vision.Decode(data, 1)
	if err != nil {
		return 0, err
	}
	defer photo.Close()
	switch part {
	case "decode":
		return now() - began, nil
	case "scale":
		began = now()
		_, err := calib.Find(photo.Mat(), calib.Spec{Kind: calib.Auto}, calib.Lens{})
		return now() - began, err
	}
	return 0, fmt.Errorf("bench: no part is named %q", part)
}
