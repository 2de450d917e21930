// Command closeup takes the close-ups of what is found in rendered scenes, for internal/fit/net/closeup.py to fit the network on.
//
//	internal/fit/own.sh build/render build/near 960000001 8 50000 300
//	go run ./internal/fit/closeup --scenes build/near --out build/closeup
//
// It writes OUT.pix, the close-ups' bytes one after the other, and OUT.f32, little-endian rows of 32-bit numbers: scene, class (0 whole kernel,
// 1 broken, 2 stover, 3 nothing of the crop), share of its own outline that a kernel keeps, length of the close-up's sides, mm, the error of the log of its
// area at each of gather.TriedMM (not a number where the truth cannot tell), and the features that the names go by.
package main

import (
	"encoding/binary"
	"errors"
	"flag"
	"log"
	"math"
	"os"

	"gristmark/internal/fit/gather"
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
	row []float32
}

func run(dir, out string) error {
	all, n, err := gather.Scenes(dir, examplesOf)
	if err != nil {
		return err
	}
	pix, rows := []byte{}, []byte{}
	for _, e := range all {
		pix = append(pix, e.pix...)
		for _, v := range e.row {
			rows = binary.LittleEndian.AppendUint32(rows, math.Float32bits(v))
		}
	}
	log.Printf("%d scenes, %d close-ups", n, len(all))
	return errors.Join(os.WriteFile(out+".pix", pix, 0o644), os.WriteFile(out+".f32", rows, 0o644))
}

func examplesOf(file string, id int) ([]example, error) {
	return gather.Named(file, func(q gather.Pairing, a *vision.Analysis, s *gather.Opened) example {
		c := a.CloseUps[q.Find]
		return example{c.Pix, rowOf(id, q, c.SideMM, a, s)}
	})
}

func rowOf(scene int, q gather.Pairing, sideMM float64, a *vision.Analysis, s *gather.Opened) []float32 {
	var areas gather.Areas
	for k := range areas {
		areas[k] = math.NaN()
	}
	if g := q.Thing; g != nil && g.HiddenShare == 0 && !g.CutByEdge {
		areas = gather.AreasOf(a.Particles[q.Find], g, s)
	}
	row := []float32{float32(scene), float32(q.ClassOf()), float32(q.Kept()), float32(sideMM)}
	for _, v := range append(areas[:], a.Features[q.Find]...) {
		row = append(row, float32(v))
	}
	return row
}
