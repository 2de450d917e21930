package vision

import "testing"

// A few parts that look like stones are left out from even odds on; where one in twelve and more may be such, doubtfully, they are a crop that the
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
	for _, c := range []struct{ pieces, doubtful, sure, dropped, doubted int }{
		{190, 10, 0, 10, 0}, {190, 10, 30, 40, 0}, {90, 10, 0, 0, 10}, {40, 25, 0, 0, 25}, {40, 25, 5, 5, 25}, {0, 3, 0, 0, 3}, {0, 0, 4, 4, 0},
	} {
		kept, dropped, doubted := keepCrop(parts(c.pieces, c.doubtful, c.sure))
		if dropped != c.dropped || doubted != c.doubted || len(kept) != c.pieces+c.doubtful+c.sure-c.dropped {
			t.Errorf("of %d pieces, %d doubtful and %d sure ones %d are left out, %d kept and %d of them in doubt; want %d left out, %d in doubt",
				c.pieces, c.doubtful, c.sure, dropped, len(kept), doubted, c.dropped, c.doubted)
		}
		if notes := foreignNotes(dropped, doubted); (len(notes) > 0) != (dropped+doubted > 0) {
			t.Errorf("%d left out, %d in doubt: %q", dropped, doubted, notes)
		}
	}
}
