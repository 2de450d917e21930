package scene

import "gristmark/internal/result"

type truthWithIDs struct {
	Truth
	ids []uint16 // of each drawn piece, 0 where it is no thing in view
}

// truth gathers what is known of the drawn scene.
func (sc Scene) truth(cam *camera, b *ground, print float64, all []*piece, views []*silhouette, pl *plate, facts lotFacts) truthWithIDs {
	s := sc.Settings
	t := truthWithIDs{ids: make([]uint16, len(all))}
	t.Truth = Truth{Seed: sc.Seed, Family: s.Family, Settings: s, Usable: s.Usable, WidthPx: cam.w, HeightPx: cam.h,
		MMPerPx: cam.mmPerPx(float64(cam.w)/2, float64(cam.h)/2), Homography: cam.homography(), Camera: cameraTruth(cam),
		TrayKind: b.kind, Kernel: facts.kernel, Lot: facts.numbers, Things: []Thing{}}
	for _, q := range b.inner(0) {
		t.TrayMM = append(t.TrayMM, XY{rounded(q[0], 3), rounded(q[1], 3)})
		px := cam.project(q[0], q[1], 0)
		t.TrayPx = append(t.TrayPx, XY{rounded(px[0], 2), rounded(px[1], 2)})
	}
	if b.print != nil {
		t.Sheet = sheetTruth(cam, b, print)
	}
	visible := countLabels(pl.label, len(all))
	var counted []*piece
	for i, p := range all {
		if views[i] == nil || views[i].area() < 1 {
			continue
		}
		outline := roundedXY(thinned(views[i].outline(), 0.05), 2)
		if p.class == "" {
			t.Others = append(t.Others, Other{p.kind, outline})
			continue
		}
		t.ids[i] = uint16(len(t.Things) + 1)
		thing := p.thing(int(t.ids[i]), views[i], float64(visible[i]))
		thing.OutlinePx = outline
		t.Things = append(t.Things, thing)
		if views[i].whole {
			counted = append(counted, p)
		}
	}
	t.Scene = number(&s.Lot, counted)
	return t
}

func cameraTruth(cam *camera) CameraTruth {
	foot := XY{cam.c[0], cam.c[1]}
	return CameraTruth{HeightMM: cam.c[2], TiltDeg: cam.tiltDeg, FootMM: foot, FootPx: cam.project(foot[0], foot[1], 0), FocalPx: cam.focal, Focal35MM: cam.f35, K1: cam.k1}
}

func sheetTruth(cam *camera, b *ground, print float64) *SheetTruth {
	px := func(q XY) XY {
		w := b.onSheet(q, print)
		return cam.project(w[0], w[1], 0)
	}
	t := &SheetTruth{Name: b.sheet.Name, PrintScale: print}
	for i, q := range b.sheet.Outline() {
		t.OutlinePx[i] = px(q)
	}
	for _, q := range b.sheet.Field() {
		t.FieldPx = append(t.FieldPx, px(q))
	}
	for _, m := range b.sheet.Markers {
		at := MarkerAtPx{ID: m.ID}
		for i, q := range m.Corners() {
			at.CornersPx[i] = px(q)
		}
		t.Markers = append(t.Markers, at)
	}
	return t
}

func (p *piece) thing(id int, v *silhouette, visible float64) Thing {
	at := v.centroid()
	t := Thing{ID: id, Class: p.class, Kind: p.kind, AtPx: XY{rounded(at[0], 2), rounded(at[1], 2)}, LengthMM: rounded(p.length, 3), WidthMM: rounded(p.width, 3),
		AreaMM2: rounded(p.area, 3), ThicknessMM: rounded(p.thick, 3), MaxFeretMM: rounded(p.maxFeret, 3), MinFeretMM: rounded(p.minFeret, 3), MassMG: rounded(p.mass, 2),
		Touching: p.touching, Crossing: p.crossing, CutByEdge: !v.whole}
	t.OutlineMM = roundedXY(thinned(p.worldOutline(), 0.015), 3)
	t.HiddenShare = rounded(clamp(1-visible/v.area(), 0, 1), 3)
	if t.HiddenShare < 0.01 {
		t.HiddenShare = 0 // the count of whole pixels is no finer
	}
	if p.class == result.Stover {
		t.Box = boxNames[p.box]
		return t
	}
	share, kept := rounded(p.share, 4), rounded(p.kept, 4)
	t.KernelShare, t.KeptShare, t.Passes475 = &share, &kept, p.passes
	return t
}

func countLabels(label []uint16, n int) []int {
	count := make([]int, n)
	for _, v := range label {
		if v > 0 {
			count[v-1]++
		}
	}
	return count
}

// relabel turns paint order into thing ids.
func relabel(label, ids []uint16) []uint16 {
	out := make([]uint16, len(label))
	for i, v := range label {
		if v > 0 {
			out[i] = ids[v-1]
		}
	}
	return out
}
