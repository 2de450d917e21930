package main

import (
	"math"
	"testing"
)

func TestBoardScale(t *testing.T) {
	// Square to the axis at 0.5 m: one pixel is distance over focal length.
	flat := boardPose{translation: [3]float64{0, 0, 0.5}}
	want := 500 / boardFocal
	if got := flat.mmPerPx(320, 240); math.Abs(got-want) > 1e-9 {
		t.Errorf("flat: %v, want %v", got, want)
	}
	// Turned by 60° about x, at the principal point: the vertical pixel covers 1/cos 60° = twice as much.
	tilted := boardPose{rotation: [3]float64{math.Pi / 3, 0, 0}, translation: [3]float64{0, 0, 0.5}}
	// The half-pixel steps see the change of scale across one pixel: below 1e-4 of it.
	if got := tilted.mmPerPx(boardCentreX, boardCentreY); math.Abs(got/(want*math.Sqrt2)-1) > 1e-4 {
		t.Errorf("tilted: %v, want %v", got, want*math.Sqrt2)
	}
}

func TestReadPoses(t *testing.T) {
	poses, err := readPoses("square_size: 1\nextrinsic_parameters: !!opencv-matrix\n   rows: 2\n   data: [ 1e-1, 2., 3., 4.,\n       5., 6., 7., 8., 9., 10.,\n 11., -12. ]\n")
	if err != nil || len(poses) != 2 || poses[0].rotation[0] != 0.1 || poses[1].translation[2] != -12 {
		t.Errorf("got %v, %v", poses, err)
	}
	if _, err := readPoses("nothing"); err == nil {
		t.Error("a file without poses was accepted")
	}
}
