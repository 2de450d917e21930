package pipeline

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"gristmark/calib"
	"gristmark/internal/intake"
)

// Profiles are the camera profiles of a folder. For each photo the one is taken whose make, model, lens and focal
// length are those of the photo's EXIF; a photo that does not name its camera has none.
type Profiles struct {
	list []*CameraProfile
	key  string
}

// ReadProfiles reads the profiles *.json of a folder in the order of their names. A folder that is not there holds none. The
// error tells of those that could not be read; the others are returned.
func ReadProfiles(dir string) (*Profiles, error) {
	files, err := filepath.Glob(filepath.Join(escapeGlob(dir), "*.json"))
	if err != nil {
		return &Profiles{}, err
	}
	out, sum := &Profiles{}, sha256.New()
	var faults []error
	for _, file := range files {
		data, err := os.ReadFile(file)
		var p *CameraProfile
		if err == nil {
			p, err = ReadProfile(data)
		}
		if err != nil {
			faults = append(faults, fmt.Errorf("%s: %w", file, err))
			continue
		}
		p.Name = filepath.Base(file)
		out.list = append(out.list, p)
		fmt.Fprintln(sum, p.Name, p.key)
	}
	if len(out.list) > 0 {
		out.key = hex.EncodeToString(sum.Sum(nil)[:8])
	}
	return out, errors.Join(faults...)
}

func escapeGlob(dir string) string {
	return strings.NewReplacer(`\`, `\\`, "*", `\*`, "?", `\?`, "[", `\[`).Replace(dir)
}

// Len is the number of profiles.
func (p *Profiles) Len() int { return len(p.list) }

// Lens is the lens for a photo by the profile of its camera.
func (p *Profiles) Lens(in *intake.Intake) (calib.Lens, bool) {
	_, lens, ok := p.of(in)
	return lens, ok
}

// NameFor names the file that Lens takes for a photo; empty for none.
func (p *Profiles) NameFor(in *intake.Intake) string {
	if found, _, ok := p.of(in); ok {
		return found.Name
	}
	return ""
}

// Key names the content of all profiles.
func (p *Profiles) Key() string { return p.key }

func (p *Profiles) of(in *intake.Intake) (*CameraProfile, calib.Lens, bool) {
	if in.Model == "" {
		return nil, calib.Lens{}, false
	}
	for _, c := range p.list {
		if !strings.EqualFold(strings.TrimSpace(c.Make), strings.TrimSpace(in.Make)) || !strings.EqualFold(strings.TrimSpace(c.Model), strings.TrimSpace(in.Model)) {
			continue
		}
		if !strings.EqualFold(strings.TrimSpace(c.LensName), strings.TrimSpace(in.Lens)) || (c.FocalMM > 0) != (in.FocalMM > 0) {
			continue
		}
		if lens, ok := c.Lens(in); ok {
			return c, lens, true
		}
	}
	return nil, calib.Lens{}, false
}

// ProfileFile is the name under which a profile is kept in the folder: its camera's.
func ProfileFile(p CameraProfile) string {
	words := fmt.Sprintf("%s %s %s", p.Make, p.Model, p.LensName)
	if p.FocalMM > 0 {
		words += fmt.Sprintf(" %gmm", p.FocalMM)
	}
	clean := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9', r == '.':
			return r
		}
		return ' '
	}, strings.ToLower(words))
	return strings.Join(strings.Fields(strings.Trim(clean, ". ")), "-") + ".json"
}
