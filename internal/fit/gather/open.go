package gather

import (
	"encoding/json"
	"os"
	"strings"

	"gristmark/internal/fit/plane"
	"gristmark/internal/scene"
	"gristmark/vision"
)

// Opened is a rendered scene to look at: its photo, which the caller closes, its truth, and the true plane.
type Opened struct {
	Photo *vision.Photo
	Truth scene.Truth
	Plane *plane.True
}

// Open reads the scene of a truth file; nil where it is no usable one.
func Open(file string) (*Opened, error) {
	b, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	var t scene.Truth
	if err := json.Unmarshal(b, &t); err != nil || !t.Usable {
		return nil, err
	}
	on, err := plane.Of(t)
	if err != nil {
		return nil, err
	}
	data, err := os.ReadFile(strings.TrimSuffix(file, ".truth.json") + ".jpg")
	if err != nil {
		return nil, err
	}
	p, err := vision.Decode(data, 1)
	if err != nil {
		return nil, err
	}
	return &Opened{p, t, on}, nil
}
