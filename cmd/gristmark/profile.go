package main

import (
	"os"

	"gristmark/internal/pipeline"
)

// profileOption reads the camera profile that --profile names; nil without one.
func profileOption(path string) (pipeline.Profile, error) {
	if path == "" {
		return nil, nil
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, refusedErrorf("the camera profile cannot be read: %v", err)
	}
	p, err := pipeline.ReadProfile(data)
	if err != nil {
		return nil, refusedErrorf("%s: %v", path, err)
	}
	return p, nil
}
