package harvest

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"
	"time"

	"gristmark/internal/result"
)

// fake is a measurer that needs no picture: what the bytes begin with says what it does.
//
//	panic…   crashes       error…   fails       refuse…  is a refused photo       slow… takes a while
//
// Any other photo has three pieces: a whole kernel, a broken one and a stalk.
type fake struct {
	version string
	shift   float64       // px, that another version sees the pieces apart
	pause   time.Duration // each photo takes
	calls   atomic.Int64
}

func (f *fake) Version() string { return f.version }

func (f *fake) MeasurePhoto(ctx context.Context, name string, data []byte, s Settings) (result.Photo, []byte, []byte, error) {
	f.calls.Add(1)
	sum := sha256.Sum256(data)
	photo := result.Photo{File: name, SHA256: hex.EncodeToString(sum[:]), WidthPx: 400, HeightPx: 300, Status: result.Measured}
	time.Sleep(f.pause)
	switch {
	case bytes.HasPrefix(data, []byte("panic")):
		panic("no such pixel")
	case bytes.HasPrefix(data, []byte("error")):
		return photo, nil, nil, errors.New("vision: out of memory")
	case bytes.HasPrefix(data, []byte("refuse")):
		why := "the photo is blurred; hold the phone still and take it again"
		photo.Status, photo.Problem = result.Refused, &why
		return photo, nil, nil, nil
	case bytes.HasPrefix(data, []byte("slow")):
		select {
		case <-ctx.Done():
			return photo, nil, nil, ctx.Err()
		case <-time.After(3 * time.Second):
		}
	}
	if _, when, ok := strings.Cut(string(data), "taken "); ok {
		photo.TakenAt = &when
	}
	photo.Scale = &result.Scale{From: "card", MMPerPx: 0.2}
	photo.Checks = []result.Check{{Name: "sharpness", OK: true, Value: 9, Limit: 3}}
	for i, class := range []result.Class{result.WholeKernel, result.BrokenKernel, result.Stover} {
		photo.Particles = append(photo.Particles, result.Particle{ID: i + 1, Class: class, Probability: 0.8,
			AtPx: result.XY{50*float64(i+1) + f.shift, 60}, LengthMM: 8, WidthMM: 5, AreaMM2: 30, OutlinePx: []result.XY{{1, 1}, {2, 1}, {2, 2}}})
	}
	if f.shift != 0 { // another version numbers the pieces otherwise
		photo.Particles[0].ID, photo.Particles[2].ID = 3, 1
	}
	return photo, []byte("overlay of " + photo.SHA256), []byte("keep of " + photo.SHA256), nil
}

func (f *fake) Judge(_ context.Context, photos []result.Photo, keeps [][]byte, s Settings, targets string, corrections []Correction) (result.Document, error) {
	if len(keeps) != len(photos) {
		return result.Document{}, fmt.Errorf("%d photos but %d keeps", len(photos), len(keeps))
	}
	named := map[string]result.Class{}
	for _, c := range corrections {
		named[fmt.Sprint(c.PhotoID, "/", c.ID)] = c.Class
	}
	k := result.Kernels{}
	for i, p := range photos {
		if p.Status == result.Measured && string(keeps[i]) != "keep of "+p.SHA256 {
			return result.Document{}, errors.New("a photo came with the keep of another")
		}
		photos[i].Particles = append([]result.Particle(nil), p.Particles...)
		for j, piece := range photos[i].Particles {
			if class, ok := named[fmt.Sprint(p.File, "/", piece.ID)]; ok {
				photos[i].Particles[j].Class, photos[i].Particles[j].Reviewed = class, true
			}
			switch photos[i].Particles[j].Class {
			case result.WholeKernel:
				k.Whole++
			case result.BrokenKernel:
				k.Broken++
			}
		}
	}
	return result.Document{Schema: result.Schema, Version: f.version, Photos: photos,
		Sample: &result.Sample{Kernels: &k, Verdict: result.Verdict{Targets: targets}}}, nil
}
