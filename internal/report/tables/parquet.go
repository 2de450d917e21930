package tables

import (
	"io"

	"github.com/parquet-go/parquet-go"
)

// groupRows bounds the rows that are held in memory before they are written.
const groupRows = 20000

// ParticleParquet writes the particle table as Parquet, compressed with Snappy, as the rows come.
type ParticleParquet struct {
	w *parquet.GenericWriter[Particle]
}

// NewParticleParquet starts a file on w.
func NewParticleParquet(w io.Writer) *ParticleParquet {
	return &ParticleParquet{parquet.NewGenericWriter[Particle](w,
		parquet.Compression(&parquet.Snappy), parquet.MaxRowsPerRowGroup(groupRows), parquet.CreatedBy("gristmark", "", ""))}
}

// Write adds rows.
func (p *ParticleParquet) Write(rows []Particle) error {
	_, err := p.w.Write(rows)
	return err
}

// Close writes the last rows and the footer.
func (p *ParticleParquet) Close() error { return p.w.Close() }
