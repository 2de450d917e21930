package score

import (
	"encoding/json"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"gristmark/internal/accuracy/outline"
	"gristmark/internal/result"
)

// Truth is what a rendered scene holds.
type Truth struct {
	Name    string
	Usable  bool
	MMPerPx float64 // at the photo's centre
	Things  []Thing
	Tray    []result.XY        // the tray's inside in the photo, px; nil where unknown
	Ruler   [][]result.XY      // outlines of the printed rulers, px
	Scene   map[string]float64 // sample numbers as realised in the scene, by Number.Name
	Lot     map[string]float64 // of the population that it was drawn from
}

// SmallestMM is the length under which a thing need not be counted, HiddenShare the part of it under
// other things from which on it cannot be.
const (
	SmallestMM  = 0.9
	HiddenShare = 0.5
)

// truthFile is the truth file of the contract.
type truthFile struct {
	WidthPx  int     `json:"width_px"`
	HeightPx int     `json:"height_px"`
	MMPerPx  float64 `json:"mm_per_px"`
	Usable   *bool   `json:"usable"`
	Things   []struct {
		Class     string      `json:"class"`
		AtPx      result.XY   `json:"at_px"`
		OutlinePx []result.XY `json:"outline_px"`
		LengthMM  float64     `json:"length_mm"`
		WidthMM   float64     `json:"width_mm"`
		AreaMM2   float64     `json:"area_mm2"`
		Share     *float64    `json:"kernel_share"`
		Kept      *float64    `json:"kept_share"`
		Hidden    float64     `json:"hidden_share"`
		MaxFeret  float64     `json:"max_feret_mm"`
		MinFeret  float64     `json:"min_feret_mm"`
		OutlineMM []result.XY `json:"outline_mm"`
		Cut       bool        `json:"cut_by_edge"`
	} `json:"things"`
	TrayPx     []result.XY `json:"tray_px"`
	Homography [9]float64  `json:"homography"` // mm on the plane to px
	Camera     *struct {
		HeightMM float64   `json:"height_mm"`
		FootMM   result.XY `json:"foot_mm"`
	} `json:"camera"`
	Sheet *struct {
		OutlinePx []result.XY `json:"outline_px"`
		FieldPx   []result.XY `json:"field_px"`
	} `json:"sheet"`
	Scene map[string]any `json:"scene"`
	Lot   map[string]any `json:"lot"`
}

// ReadTruth reads a truth file. Size is that of the photo, px.
func ReadTruth(name string, data []byte, width, height int) (Truth, error) {
	var f truthFile
	if err := json.Unmarshal(data, &f); err != nil {
		return Truth{}, fmt.Errorf("score: truth file of %s: %w", name, err)
	}
	t := Truth{Name: name, Usable: f.Usable == nil || *f.Usable, MMPerPx: f.MMPerPx, Tray: f.TrayPx,
		Scene: numbersIn(f.Scene), Lot: numbersIn(f.Lot)}
	t.readSheet(f)
	lean := f.leans()
	for _, g := range f.Things {
		class := result.Class(g.Class)
		if !class.IsKernel() && class != result.Stover {
			continue // soil, hair, drops: found, they are extras
		}
		whole := outline.New(g.OutlinePx)
		seen := whole.Clip(float64(width), float64(height))
		if whole.Area() > 0 && seen.Area() == 0 {
			continue // outside the photo
		}
		t.Things = append(t.Things, Thing{Class: class, AtPx: g.AtPx, Shape: seen, LengthMM: g.LengthMM, WidthMM: g.WidthMM,
			AreaMM2: g.AreaMM2, Share: g.Share, Kept: g.Kept, MaxFeretMM: g.MaxFeret, MinFeretMM: g.MinFeret, OutlineMM: g.OutlineMM, Small: g.LengthMM < SmallestMM || g.Hidden >= HiddenShare,
			Cut: g.Cut || seen.Area() < whole.Area()-1e-9, Lean: lean(g.AtPx), Hidden: g.Hidden})
	}
	return t, nil
}

// leans tells how aslant the camera looks at a px: the slope of the line of sight against straight down. Not a number where the truth does not tell.
func (f *truthFile) leans() func(px result.XY) float64 {
	var inverse mat.Dense
	if f.Camera == nil || f.Camera.HeightMM <= 0 || inverse.Inverse(mat.NewDense(3, 3, f.Homography[:])) != nil {
		return func(result.XY) float64 { return math.NaN() }
	}
	return func(px result.XY) float64 {
		var q mat.VecDense
		q.MulVec(&inverse, mat.NewVecDense(3, []float64{px[0], px[1], 1}))
		x, y := q.AtVec(0)/q.AtVec(2), q.AtVec(1)/q.AtVec(2)
		return math.Hypot(x-f.Camera.FootMM[0], y-f.Camera.FootMM[1]) / f.Camera.HeightMM
	}
}

// readSheet takes the ruler's outline, or the field that a mat leaves free in place of the tray.
func (t *Truth) readSheet(f truthFile) {
	switch {
	case f.Sheet == nil:
	case len(f.Sheet.FieldPx) > 0:
		t.Tray = f.Sheet.FieldPx
	default:
		t.Ruler = [][]result.XY{f.Sheet.OutlinePx}
	}
}

// numbersIn picks the sample numbers out of a tree of JSON, however deep they lie.
func numbersIn(tree map[string]any) map[string]float64 {
	out := map[string]float64{}
	for _, n := range Numbers {
		if v, ok := lookUp(tree, n.Path); ok {
			out[n.Name] = v
		}
	}
	return out
}

// lookUp finds the value at a path of keys, starting at any depth; a value may be an estimate.
func lookUp(tree map[string]any, path []string) (float64, bool) {
	if at, ok := tree[path[0]]; ok {
		if len(path) == 1 {
			return value(at)
		}
		if sub, ok := at.(map[string]any); ok {
			return lookUp(sub, path[1:])
		}
	}
	for _, sub := range tree {
		if m, ok := sub.(map[string]any); ok {
			if v, ok := lookUp(m, path); ok {
				return v, true
			}
		}
	}
	return 0, false
}

func value(v any) (float64, bool) {
	switch v := v.(type) {
	case float64:
		return v, true
	case map[string]any:
		f, ok := v["value"].(float64)
		return f, ok
	}
	return 0, false
}
