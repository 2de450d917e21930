//go:build matprofile

package vision

import (
	"fmt"
	"os"
	"testing"

	"gocv.io/x/gocv"
)

// TestMain fails the run when a Mat is left open: go test -tags matprofile ./vision
func TestMain(m *testing.M) {
	code := m.Run()
	if n := gocv.MatProfile.Count(); n > 0 && code == 0 {
		fmt.Fprintf(os.Stderr, "%d Mats were not closed\n", n)
		gocv.MatProfile.WriteTo(os.Stderr, 1)
		code = 1
	}
	os.Exit(code)
}
