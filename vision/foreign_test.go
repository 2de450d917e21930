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
		kept, n := keepCrop(parts(c.pieces, c.doubtful, c.sure))
		if n != (sorted{alien: c.dropped, doubted: c.doubted}) || len(kept) != c.pieces+c.doubtful+c.sure-c.dropped {
			t.Errorf("of %d pieces, %d doubtful and %d sure ones %d are left out, %d kept and %d of them in doubt; want %d left out, %d in doubt",
				c.pieces, c.doubtful, c.sure, n.alien, len(kept), n.doubted, c.dropped, c.doubted)
		}
		if notes := n.notes(); (len(notes) > 0) != (n.alien+n.doubted > 0) {
			t.Errorf("%d left out, %d in doubt: %q", n.alien, n.doubted, notes)
		}
	}
}

// What may be a stain by its contrast and size is left out where it may well be nothing of the crop, and stays where it is surely a piece; it does not
// count among those by which a photo is of another crop.
func TestFaintPartsMustLookLikePieces(t *testing.T) {
	drafts := make([]draft, 40)
	for i := range drafts {
		drafts[i].pForeign = 0.02
	}
	for i := range 20 {
		drafts[i].faint, drafts[i].pForeign = true, 0.04*float64(i)+0.02 // the first five stay
	}
	drafts[39].pForeign = 0.7
	kept, n := keepCrop(drafts)
	if n != (sorted{stains: 15, alien: 1}) || len(kept) != 24 {
		t.Errorf("%+v, %d kept", n, len(kept))
	}
	if notes := n.notes(); len(notes) != 2 {
		t.Errorf("notes %q", notes)
	}
}
