// Command closeup takes the close-ups of what is found in rendered scenes, for internal/fit/net/closeup.py to fit the network on.
//
//	internal/fit/own.sh build/render build/near 980000001 22 80000 520
//	go run ./internal/fit/closeup --scenes build/near --out build/closeup
//
// It writes OUT.pix, the close-ups' bytes one after the other, and OUT.f32, their rows: see package rows.
package main

import (
	"errors"
	"flag"
	"log"
	"math"
	"os"
	"path/filepath"

	"gristmark/internal/fit/gather"
	"gristmark/internal/fit/rows"
	"gristmark/vision"
)

func main() {
	scenes := flag.String("scenes", "build/near", "folder of rendered scenes with truth")
	out := flag.String("out", "build/closeup", "the two files, without their endings")
	flag.Parse()
	if err := run(*scenes, *out); err != nil {
		log.Fatal("closeup: ", err)
	}
}

// example is a close-up and its row.
type example struct {
	pix []uint8
	row rows.Row
}

func run(dir, out string) error {
	all, n, err := gather.Scenes(dir, examplesOf)
	if err != nil {
		return err
	}
	var pix, found []byte
	for _, e := range all {
		pix, found = append(pix, e.pix...), e.row.Append(found)
	}
	log.Printf("%d scenes, %d close-ups", n, len(all))
	return errors.Join(os.WriteFile(out+".pix", pix, 0o644), os.WriteFile(out+".f32", found, 0o644))
}

func examplesOf(file string, id int) (out []example, err error) {
	s, err := gather.Open(file)
	if s == nil || err != nil {
		return nil, err
	}
	defer s.Photo.Close()
	opt := vision.DefaultOptions()
	opt.KeepAll = true
	a, err := s.Look(opt)
	if err != nil {
		return nil, err
	}
	for _, q := range gather.Pair(a, s.Truth) {
		c := a.CloseUps[q.Find]
		row := rows.Row{Scene: id, Class: q.ClassOf(), Kept: q.Kept(), SideMM: c.SideMM, Lean: c.Lean, X: a.Features[q.Find]}
		row.PerMM, row.Drawn, row.Off = areasOf(q, a, s)
		out = append(out, example{c.Pix, row})
	}
	log.Printf("%s: %d found, %d true, %d paired %s", filepath.Base(file), len(a.Particles), len(s.Truth.Things), len(out), a.Problem)
	return out, nil
}

// areasOf is what there is to know of a find's area: see rows.Row. Not numbers where it is no whole thing in full view.
func areasOf(q gather.Pairing, a *vision.Analysis, s *gather.Opened) (perMM, drawn float64, off gather.Areas) {
	if g := q.Thing; g != nil && g.HiddenShare == 0 && !g.CutByEdge {
		return gather.AreasOf(a.Particles[q.Find], g, s)
	}
	for k := range off {
		off[k] = math.NaN()
	}
	return 0, math.NaN(), off
}
