//go:build matprofile

package calib

import (
	"os"
	"testing"

	"gocv.io/x/gocv"
)

// TestMain fails when a test leaves a Mat open.
func TestMain(m *testing.M) {
	code := m.Run()
	if n := gocv.MatProfile.Count(); n != 0 {
		gocv.MatProfile.WriteTo(os.Stderr, 1)
		code = 1
	}
	os.Exit(code)
}
