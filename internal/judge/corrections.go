package judge

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"gristmark/internal/estimate"
	"gristmark/internal/result"
	"gristmark/internal/sieve"
)

// The columns of a table of corrections; more may stand beside them.
const (
	photoColumn = "photo"
	idColumn    = "id"
	classColumn = "class"
)

// short are names that people write for the classes.
var short = map[string]result.Class{
	"whole": result.WholeKernel, "broken": result.BrokenKernel, "nothing": estimate.NoPiece,
}

// ParseCorrections reads a CSV or XLSX with the columns id and class, and photo where there are several; further columns are passed over.
// A row whose class is empty was left open by its reader and says nothing. A fault names its line.
func ParseCorrections(data []byte) ([]estimate.Correction, error) {
	t, err := sieve.ReadTable(data)
	if err != nil {
		return nil, fmt.Errorf("judge: %s", strings.TrimPrefix(err.Error(), "sieve: "))
	}
	at := map[string]int{}
	for j, text := range t.Rows[0] {
		at[strings.ToLower(strings.TrimSpace(text))] = j
	}
	for _, need := range []string{idColumn, classColumn} {
		if _, ok := at[need]; !ok {
			return nil, fmt.Errorf("judge: line %d: no column %s; the first line must name id and class, and photo where there are several", t.Line[0], need)
		}
	}
	var out []estimate.Correction
	for i := 1; i < len(t.Rows); i++ {
		cell := func(name string) string {
			j, ok := at[name]
			if !ok || j >= len(t.Rows[i]) {
				return ""
			}
			return strings.TrimSpace(t.Rows[i][j])
		}
		class := strings.ReplaceAll(strings.ToLower(cell(classColumn)), " ", "_")
		if class == "" {
			continue
		}
		id, err := strconv.Atoi(cell(idColumn))
		if err != nil || id < 1 {
			return nil, estimate.CorrectionError{Line: t.Line[i], Why: fmt.Sprintf("%q is no number of a piece; they go from 1 up, as drawn in the overlay", cell(idColumn))}
		}
		c := estimate.Correction{Photo: cell(photoColumn), ID: id, Class: result.Class(class), Line: t.Line[i]}
		if full, ok := short[class]; ok {
			c.Class = full
		}
		out = append(out, c)
	}
	return out, nil
}

// Unsure lists the pieces that have no class, as far as they count by themselves: of a second copy of a file none.
func Unsure(photos []result.Photo) (n int) {
	eachUnsure(photos, func(result.Photo, result.Particle) { n++ })
	return n
}

func eachUnsure(photos []result.Photo, yield func(result.Photo, result.Particle)) {
	for _, p := range photos {
		if p.Status != result.Measured || p.DuplicateOf != "" {
			continue
		}
		for _, q := range p.Particles {
			if q.Class == result.Unsure {
				yield(p, q)
			}
		}
	}
}

// WriteUnsure writes the pieces without a class as a table of corrections to fill in: the class is left empty, and behind it stand where
// the piece lies in the photo (px), its size (mm), and which class it most likely is, with that probability.
func WriteUnsure(w io.Writer, photos []result.Photo) error {
	c := csv.NewWriter(w)
	c.Write([]string{photoColumn, idColumn, classColumn, "x_px", "y_px", "length_mm", "width_mm", "guess", "probability"})
	number := func(v float64, decimals int) string { return strconv.FormatFloat(v, 'f', decimals, 64) }
	eachUnsure(photos, func(p result.Photo, q result.Particle) {
		c.Write([]string{p.File, strconv.Itoa(q.ID), "", number(q.AtPx[0], 0), number(q.AtPx[1], 0),
			number(q.LengthMM, 1), number(q.WidthMM, 1), string(likeliest(q)), number(q.Probability, 2)})
	})
	c.Flush()
	return c.Error()
}

func likeliest(q result.Particle) result.Class {
	switch {
	case q.PWhole >= q.PBroken && q.PWhole >= q.PStover:
		return result.WholeKernel
	case q.PBroken >= q.PStover:
		return result.BrokenKernel
	}
	return result.Stover
}
