package vision

import (
	"testing"

	"pgregory.net/rapid"
)

// Blob by blob depths are those of the whole picture at once.
func TestDepthsAreThoseOfTheWholePicture(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(2, 40).Draw(t, "w"), rapid.IntRange(2, 40).Draw(t, "h")
		mask := make([]bool, w*h)
		for range rapid.IntRange(1, 8).Draw(t, "boxes") {
			x, y := rapid.IntRange(0, w-1).Draw(t, "x"), rapid.IntRange(0, h-1).Draw(t, "y")
			for v := y; v < min(h, y+rapid.IntRange(1, 14).Draw(t, "high")); v++ {
				for u := x; u < min(w, x+rapid.IntRange(1, 14).Draw(t, "wide")); u++ {
					mask[v*w+u] = true
				}
			}
		}
		mask[rapid.IntRange(0, w*h-1).Draw(t, "bare")] = false
		labels, n := components(mask, w, h)
		got, want := depths(labels, blobsOf(labels, n, w, h, 1), w, h), distanceTo(mask, w, h, false)
		for i := range want {
			if got[i] != want[i] {
				t.Fatalf("depth at %d, %d is %v, in the whole picture %v", i%w, i/w, got[i], want[i])
			}
		}
	})
}
