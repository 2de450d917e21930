package pipeline

import (
	"gristmark/internal/result"
)

// Frame is a measured or refused photo with what later stages and the overlay need beyond its record.
// It goes through JSON unharmed, so that an interrupted batch can take it up again.
type Frame struct {
	Photo result.Photo `json:"photo"`

	OutlineMM [][]result.XY `json:"outline_mm,omitempty"` // parallel to Photo.Particles, tray plane, mm
	Marks     []Mark        `json:"marks,omitempty"`      // of the ruler
	Grid      [][]result.XY `json:"grid,omitempty"`       // lines of the tray plane, px
	GridMM    float64       `json:"grid_mm,omitempty"`    // their pitch
	Notes     []string      `json:"notes,omitempty"`      // doubts about the photo, a sentence each

	// Picture is the upright photo as JPEG, reduced to at most PictureSidePx; nil unless asked for.
	Picture    []byte `json:"-"`
	HasPicture bool   `json:"has_picture"` // one is kept beside the record

	spots []spot // where the largest pieces lie, once the outlines are dropped
}

// Mark is a mark of the ruler as it was found in the photo.
type Mark struct {
	OutlinePx []result.XY `json:"outline_px"` // a single point for a tick or a crossing
	Used      bool        `json:"used"`       // false: thrown out by the robust fit
}

// PictureSidePx is the longest side of the reduced copy.
const PictureSidePx = 2400

// attach gives the particles their outlines on the tray plane back after JSON.
func (f *Frame) attach() {
	for i := range f.Photo.Particles {
		if i < len(f.OutlineMM) {
			f.Photo.Particles[i].OutlineMM = f.OutlineMM[i]
		}
	}
}

// refuse empties a photo of everything but its reason.
func refuse(p *result.Photo, problem string) {
	p.Status, p.Problem = result.Refused, &problem
	p.Particles = []result.Particle{}
	if p.Checks == nil {
		p.Checks = []result.Check{}
	}
}
