package judge

import (
	"fmt"
	"strings"

	"gristmark/internal/estimate"
	"gristmark/internal/result"
)

// Review is the document with a person's names for pieces, and the sample judged anew with them; the document given is left as it is. What
// the photos' own notes said is kept. The error is an [estimate.CorrectionError] where a correction does not fit; uncorrected is
// that of [Sample].
func Review(doc result.Document, corrections []estimate.Correction, opt Options) (reviewed result.Document, uncorrected, err error) {
	photos, err := estimate.Review(doc.Photos, corrections)
	if err != nil {
		return doc, nil, err
	}
	reviewed = doc
	reviewed.Photos = photos
	s := Estimate(photos, opt)
	if s == nil {
		reviewed.Sample = nil
		return reviewed, nil, nil
	}
	s.Notes = append(s.Notes, photoNotes(doc)...)
	if n := named(photos); n > 0 {
		s.Notes = append(s.Notes, fmt.Sprintf("%d piece(s) were named by a person and are counted as certain", n))
	}
	if n := pieces(doc.Photos) - pieces(photos); n > 0 {
		s.Notes = append(s.Notes, fmt.Sprintf("%d piece(s) were left out by a person as nothing of the crop", n))
	}
	uncorrected = Finish(s, opt)
	reviewed.Sample = s
	return reviewed, uncorrected, nil
}

// photoNotes are the notes of a document that speak of one photo.
func photoNotes(doc result.Document) (out []string) {
	if doc.Sample == nil {
		return nil
	}
	for _, note := range doc.Sample.Notes {
		for _, p := range doc.Photos {
			if strings.HasPrefix(note, p.File+": ") {
				out = append(out, note)
				break
			}
		}
	}
	return out
}

func named(photos []result.Photo) (n int) {
	for _, p := range photos {
		for _, q := range p.Particles {
			if q.Reviewed {
				n++
			}
		}
	}
	return n
}

func pieces(photos []result.Photo) (n int) {
	for _, p := range photos {
		n += len(p.Particles)
	}
	return n
}
