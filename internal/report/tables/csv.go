package tables

import (
	"encoding/csv"
	"io"
)

// ParticleCSV writes particles.csv as the rows come: header first, one row a particle.
type ParticleCSV struct {
	w      *csv.Writer
	record []string
}

// NewParticleCSV writes the header to w.
func NewParticleCSV(w io.Writer) (*ParticleCSV, error) {
	c := &ParticleCSV{w: csv.NewWriter(w), record: make([]string, len(particleColumns))}
	return c, c.w.Write(particleColumns)
}

// Write adds rows.
func (c *ParticleCSV) Write(rows []Particle) error {
	for _, p := range rows {
		for i, cell := range p.cells() {
			c.record[i] = text(cell)
		}
		if err := c.w.Write(c.record); err != nil {
			return err
		}
	}
	return nil
}

// Close writes what is left.
func (c *ParticleCSV) Close() error {
	c.w.Flush()
	return c.w.Error()
}
