package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"

	"gristmark/internal/scene"
)

// Size of the photo that is measured, px: 12 megapixels.
const (
	widthPx  = 4032
	heightPx = 3024
	seed     = 12
)

// ensureRendered draws the photo once for each checkout, in a process of its own.
func ensureRendered(self, folder string) (string, error) {
	photo := filepath.Join(folder, fmt.Sprintf("mixed-%dx%d-%d.jpg", widthPx, heightPx, seed))
	if _, err := os.Stat(photo); err == nil {
		return photo, nil
	}
	cmd := exec.Command(self, partFlag, "render", photo, "1")
	cmd.Stderr = os.Stderr
	return photo, cmd.Run()
}

// render draws a mixed sample in 12 megapixels.
func render(photo string) error {
	family, ok := scene.FamilyNamed("mixed")
	if !ok {
		return fmt.Errorf("bench: the renderer has no family mixed")
	}
	settings := family.Settings
	settings.WidthPx, settings.HeightPx = widthPx, heightPx
	return draw(settings, seed, photo)
}

// draw renders a scene into a JPEG file.
func draw(settings scene.Settings, seed uint64, photo string) error {
	picture := scene.Scene{Settings: settings, Seed: seed}.Draw()
	jpeg, err := picture.JPEG(picture.DefaultCapture())
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(photo), 0o755); err != nil {
		return err
	}
	return os.WriteFile(photo, jpeg, 0o644)
}
