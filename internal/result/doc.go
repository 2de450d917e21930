// Package result holds the plain records that the rooms hand to each other: photo, particle, sample.
//
// Conventions: lengths in millimetres (suffix MM), areas in mm² (MM2), image positions in pixels of
// the upright photo (Px), x to the right, y down, origin at the top left corner of the top left
// pixel, so the centre of that pixel lies at (0.5, 0.5). The JSON form is the measurement document.
package result

// Schema names the version of the measurement document.
const Schema = "gristmark.sample/1"

// Document is the measurement document of one sample.
type Document struct {
	Schema   string    `json:"schema"`
	Version  string    `json:"version,omitempty"`  // of the program that wrote it
	Show     string    `json:"show,omitempty"`     // what the photos were said to show: kernels, pieces or mixed
	Settings *Settings `json:"settings,omitempty"` // what was told of the load; nil: nothing
	Photos   []Photo   `json:"photos"`
	Sample   *Sample   `json:"sample"`            // nil when no photo was measured
	Assumed  []string  `json:"assumed,omitempty"` // what was taken for granted, a sentence each
}
