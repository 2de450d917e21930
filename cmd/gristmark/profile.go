package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/urfave/cli/v2"

	"gristmark/internal/pipeline"
)

// cameraOptions reads the camera profiles, the one that --profile names or else all that are kept, and the print
// corrections that are kept. What is kept and cannot be read is told and left out.
func cameraOptions(c *cli.Context, opt *pipeline.Options) error {
	config, err := configFolder()
	if err == nil {
		if opt.Prints, err = pipeline.ReadPrints(filepath.Join(config, printsFile)); err != nil {
			return refusedErrorf("the kept print corrections cannot be read: %v", err)
		}
	}
	if path := c.String("profile"); path != "" {
		opt.Profile, err = profileOption(path)
		return err
	}
	if config == "" {
		return nil
	}
	kept, err := pipeline.ReadProfiles(filepath.Join(config, profileFolder))
	if err != nil {
		fmt.Fprintf(c.App.ErrWriter, "left out: %v\n", err)
	}
	if kept.Len() > 0 {
		opt.Profile = kept
	}
	return nil
}

// profileOption reads the camera profile that --profile names.
func profileOption(path string) (pipeline.Profile, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, refusedErrorf("the camera profile cannot be read: %v", err)
	}
	p, err := pipeline.ReadProfile(data)
	if err != nil {
		return nil, refusedErrorf("%s: %v", path, err)
	}
	p.Name = filepath.Base(path)
	return p, nil
}

// What is kept in the user's configuration folder.
const (
	profileFolder = "profiles" // a JSON file for each camera
	printsFile    = "prints.json"
)

// configFolder is the user's configuration folder of this program; empty with an error where there is none.
func configFolder() (string, error) {
	dir, err := os.UserConfigDir()
	if err != nil {
		return "", fmt.Errorf("no folder to keep settings in: %w", err)
	}
	return filepath.Join(dir, "gristmark"), nil
}
