package vision

import "testing"

// A few parts that look like stones are left out from even odds on; where a fifth and more do, doubtfully, they are a crop that the
// model does not know, and only those that are surely none of it go.
func TestForeignInNumbersIsDoubted(t *testing.T) {
	parts := func(pieces, doubtful, sure int) (out []draft) {
		for range pieces {
			out = append(out, draft{pForeign: 0.02})
		}
		for range doubtful {
			out = append(out, draft{pForeign: 0.8})
		}
		for range sure {
			out = append(out, draft{pForeign: 0.99})
		}
		return out
	}
	for _, c := range []struct{ pieces, doubtful, sure, dropped int }{
		{90, 10, 0, 10}, {90, 10, 30, 40}, {40, 25, 0, 0}, {40, 25, 5, 5}, {0, 3, 0, 0}, {0, 0, 4, 4},
	} {
		kept, dropped := keepCrop(parts(c.pieces, c.doubtful, c.sure))
		if dropped != c.dropped || len(kept) != c.pieces+c.doubtful+c.sure-c.dropped {
			t.Errorf("of %d pieces, %d doubtful and %d sure ones %d are left out and %d kept, want %d left out", c.pieces, c.doubtful, c.sure, dropped, len(kept), c.dropped)
		}
	}
}
