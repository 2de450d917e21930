package calib

import (
	"errors"
	"fmt"
)

// What the errors of Find wrap: why a photo gave no scale.
var (
	ErrNoRuler  = errors.New("calib: no ruler found") // there is none, or too little of it shows
	ErrDoubtful = errors.New("calib: scale not sure") // found, but it does not carry a scale
	ErrConflict = errors.New("calib: rulers disagree")
)

func noRuler(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrNoRuler, fmt.Sprintf(format, args...))
}

func doubtful(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrDoubtful, fmt.Sprintf(format, args...))
}

func conflict(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrConflict, fmt.Sprintf(format, args...))
}
