// Package webtest sets up a log with its pages for tests: real photos from samples/, measured beforehand, so that no OpenCV is
// needed; judged as the product judges them.
package webtest

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"image/jpeg"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"time"

	"github.com/disintegration/imaging"

	"gristmark/internal/advice"
	"gristmark/internal/estimate"
	"gristmark/internal/harvest"
	"gristmark/internal/judge"
	"gristmark/internal/report"
	"gristmark/internal/result"
)

// The photos that there are measurements of.
const (
	Coarse  = "gap-3.0/kernels-1" // kernels, short of target
	Fine    = "gap-1.5/kernels-1" // kernels, finer
	Pieces  = "gap-3.0/pieces-1"
	Mixed   = "gap-3.0/mixed-1"
	Blurred = "bad/blurred"
	NoCard  = "bad/no-card"
)

// root is the folder of the repository.
func root() string {
	_, file, _, _ := runtime.Caller(0)
	return filepath.Join(filepath.Dir(file), "..", "..", "..")
}

// Photo reads one of the sample photos.
func Photo(name string) ([]byte, error) {
	return os.ReadFile(filepath.Join(root(), "samples", filepath.FromSlash(name)+".jpg"))
}

const trailer = "\nvariant "

// Variant is a sample photo whose pieces are larger by a factor, as if of another load, taken at a time. What tells the measurer
// stands behind the end of the picture.
func Variant(name string, n int, factor float64, taken time.Time) ([]byte, error) {
	data, err := Photo(name)
	return append(data, fmt.Sprintf("%s%d %g %s", trailer, n, factor, taken.Format(time.RFC3339))...), err
}

// Measurer tells of the sample photos what was measured of them.
type Measurer struct {
	Pause time.Duration // that each photo takes
	known map[string]result.Photo
	mu    sync.Mutex
	drawn map[string][]byte // overlays by SHA-256 of the sample photo: variants look the same
}

// NewMeasurer reads the stored measurements.
func NewMeasurer() (*Measurer, error) {
	m := &Measurer{known: map[string]result.Photo{}, drawn: map[string][]byte{}}
	for _, name := range []string{Coarse, Fine, Pieces, Mixed, Blurred, NoCard} {
		p, err := stored(name)
		if err != nil {
			return nil, err
		}
		m.known[p.SHA256] = p
	}
	return m, nil
}

func stored(name string) (p result.Photo, err error) {
	f, err := os.Open(filepath.Join(root(), "internal", "web", "testdata", strings.ReplaceAll(name, "/", "-")+".json.gz"))
	if err != nil {
		return p, err
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		return p, err
	}
	return p, json.NewDecoder(z).Decode(&p)
}

// Version is that of no program.
func (m *Measurer) Version() string { return "test" }

// MeasurePhoto answers with the stored measurement of the bytes; what is unknown is refused.
func (m *Measurer) MeasurePhoto(ctx context.Context, name string, data []byte, _ harvest.Settings) (result.Photo, []byte, []byte, error) {
	select {
	case <-ctx.Done():
		return result.Photo{}, nil, nil, ctx.Err()
	case <-time.After(m.Pause):
	}
	picture, told, _ := strings.Cut(string(data), trailer)
	sum := sha256.Sum256([]byte(picture))
	p, ok := m.known[hex.EncodeToString(sum[:])]
	own := sha256.Sum256(data)
	if !ok {
		why := "this is no photo that can be read; take a photo with the camera and send that"
		return result.Photo{File: name, SHA256: hex.EncodeToString(own[:]), Status: result.Refused, Problem: &why}, nil, nil, nil
	}
	p.SHA256, p.File = hex.EncodeToString(own[:]), name
	p.Particles = grown(p.Particles, told, &p)
	if p.Status == result.Refused {
		return p, nil, nil, nil
	}
	overlay, err := m.overlay(hex.EncodeToString(sum[:]), []byte(picture), p)
	return p, overlay, nil, err
}

func (m *Measurer) overlay(sum string, picture []byte, p result.Photo) ([]byte, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if data, ok := m.drawn[sum]; ok {
		return data, nil
	}
	data, err := drawn(picture, p)
	m.drawn[sum] = data
	return data, err
}

// grown is the pieces, larger by the factor of a variant.
func grown(list []result.Particle, told string, p *result.Photo) []result.Particle {
	var n int
	factor, taken := 1.0, ""
	if _, err := fmt.Sscan(told, &n, &factor, &taken); err == nil {
		p.TakenAt = &taken
	}
	out := make([]result.Particle, len(list))
	for i, q := range list {
		for _, length := range []*float64{&q.LengthMM, &q.WidthMM, &q.MaxFeretMM, &q.MinFeretMM, &q.CentreLineMM, &q.PerimeterMM} {
			*length *= factor
		}
		q.AreaMM2 *= factor * factor
		out[i] = q
	}
	return out
}

func drawn(data []byte, p result.Photo) ([]byte, error) {
	picture, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	picture = imaging.Resize(picture, 1600, 0, imaging.Linear)
	var b bytes.Buffer
	err = jpeg.Encode(&b, report.Overlay{Picture: picture, Photo: p, Photos: 1}.Draw(), &jpeg.Options{Quality: 85})
	return b.Bytes(), err
}

// Judge judges as the product does.
func (m *Measurer) Judge(_ context.Context, photos []result.Photo, _ [][]byte, s harvest.Settings, targets string, corrections []harvest.Correction) (result.Document, error) {
	set, err := advice.Targets().Find(targets)
	if err != nil {
		set = advice.DefaultSet()
	}
	opt := judge.Options{Show: s.Show, Targets: set, Context: advice.Context{Process: s.Process, State: s.State, DMPct: s.DMPct, TLOCMM: s.TLOCMM, RollGapMM: s.RollGapMM}}
	doc := result.Document{Schema: result.Schema, Version: m.Version(), Show: s.Show, Photos: photos, Assumed: []string{"the chop is taken to be fresh; --state fermented tells otherwise"}}
	if doc.Sample, err = judge.Sample(photos, opt); err != nil || len(corrections) == 0 {
		return doc, err
	}
	var list []estimate.Correction
	for _, c := range corrections {
		list = append(list, estimate.Correction{Photo: c.PhotoID, ID: c.ID, Class: c.Class})
	}
	doc, _, err = judge.Review(doc, list, opt)
	return doc, err
}
