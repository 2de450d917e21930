package tables

import (
	"strconv"

	"gristmark/internal/result"
)

// Particle is one row of the particle table. Lengths and areas are of the outline seen from straight above, on the
// scale of the tray plane.
type Particle struct {
	Sample       string   `parquet:"sample,dict"`
	File         string   `parquet:"file,dict"`
	PhotoSHA256  string   `parquet:"photo_sha256,dict"`
	ID           int32    `parquet:"id"`          // within its photo, from 1
	Class        string   `parquet:"class,dict"`  // whole_kernel, broken_kernel, stover, unsure
	Probability  float64  `parquet:"probability"` // of the class, 0..1
	PWhole       float64  `parquet:"p_whole"`
	PBroken      float64  `parquet:"p_broken"`
	PStover      float64  `parquet:"p_stover"`
	XPx          float64  `parquet:"x_px"` // centroid in the upright photo
	YPx          float64  `parquet:"y_px"`
	LengthMM     float64  `parquet:"length_mm"`             // > 0
	WidthMM      float64  `parquet:"width_mm"`              // > 0
	AreaMM2      float64  `parquet:"area_mm2"`              // > 0
	KernelShare  *float64 `parquet:"kernel_share,optional"` // 0..1; nil for stover
	MaxFeretMM   float64  `parquet:"max_feret_mm"`
	MinFeretMM   float64  `parquet:"min_feret_mm"`
	PerimeterMM  float64  `parquet:"perimeter_mm"`
	CentreLineMM float64  `parquet:"centreline_mm"`
	Solidity     float64  `parquet:"solidity"` // 0..1
	Weight       float64  `parquet:"weight"`   // for being in view as a whole, ≥ 1; 0 where it was not weighed
	CutByEdge    bool     `parquet:"cut_by_edge"`
	Counted      bool     `parquet:"counted"` // false where the photo is another's copy
}

// Particles are the rows of a sample's photos, in the order of the document.
func Particles(sample string, photos []result.Photo) []Particle {
	var rows []Particle
	for _, p := range photos {
		for _, q := range p.Particles {
			rows = append(rows, Particle{
				Sample: sample, File: p.File, PhotoSHA256: p.SHA256, ID: int32(q.ID), Class: string(q.Class),
				Probability: q.Probability, PWhole: q.PWhole, PBroken: q.PBroken, PStover: q.PStover,
				XPx: q.AtPx[0], YPx: q.AtPx[1], LengthMM: q.LengthMM, WidthMM: q.WidthMM, AreaMM2: q.AreaMM2,
				KernelShare: q.KernelShare, MaxFeretMM: q.MaxFeretMM, MinFeretMM: q.MinFeretMM, PerimeterMM: q.PerimeterMM,
				CentreLineMM: q.CentreLineMM, Solidity: q.Solidity, Weight: q.Weight, CutByEdge: q.CutByEdge,
				Counted: p.DuplicateOf == "",
			})
		}
	}
	return rows
}

var particleColumns = []string{
	"sample", "file", "photo_sha256", "id", "class", "probability", "p_whole", "p_broken", "p_stover", "x_px", "y_px",
	"length_mm", "width_mm", "area_mm2", "kernel_share", "max_feret_mm", "min_feret_mm", "perimeter_mm", "centreline_mm",
	"solidity", "weight", "cut_by_edge", "counted",
}

// cells are the row's values in the order of particleColumns.
func (p Particle) cells() []any {
	var share any
	if p.KernelShare != nil {
		share = *p.KernelShare
	}
	return []any{
		p.Sample, p.File, p.PhotoSHA256, int(p.ID), p.Class, p.Probability, p.PWhole, p.PBroken, p.PStover, p.XPx, p.YPx,
		p.LengthMM, p.WidthMM, p.AreaMM2, share, p.MaxFeretMM, p.MinFeretMM, p.PerimeterMM, p.CentreLineMM,
		p.Solidity, p.Weight, p.CutByEdge, p.Counted,
	}
}

func text(cell any) string {
	switch v := cell.(type) {
	case string:
		return v
	case int:
		return strconv.Itoa(v)
	case float64:
		return strconv.FormatFloat(v, 'f', -1, 64)
	case bool:
		return strconv.FormatBool(v)
	}
	return ""
}
