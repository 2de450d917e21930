package main

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"strings"
	"time"

	"gristmark/internal/accuracy/score"
	"gristmark/internal/result"
)

// scored is what measured scenes came to. The families keep their order.
type scored struct {
	Families  []*score.Family
	Ideal     map[string]*score.Family // numbers from the true outlines
	Yardstick map[string]*score.Family // empty where it was not run
}

// measureScenes measures every scene and, where asked, lets the yardstick do so too.
func measureScenes(opt options, scenes []rendered) (scored, error) {
	out := scored{Ideal: map[string]*score.Family{}}
	docs := make([]result.Document, len(scenes))
	took := make([]time.Duration, len(scenes))
	err := each(len(scenes), opt.Workers, func(i int) error {
		docs[i], took[i] = opt.Program.measure(scenes[i].Photo, "--show", scenes[i].Show)
		return nil
	})
	if err != nil {
		return out, err
	}
	byName := map[string]*score.Family{}
	for i, s := range scenes {
		f := byName[s.Family]
		if f == nil {
			f = score.NewFamily(s.Family)
			byName[s.Family] = f
			out.Ideal[s.Family] = score.NewFamily(s.Family)
			out.Families = append(out.Families, f)
		}
		f.Add(s.Truth, docs[i])
		f.Seconds = append(f.Seconds, took[i].Seconds())
		if s.Truth.Usable {
			out.Ideal[s.Family].AddNumbers(s.Truth, score.Ideal(s.Truth, s.Show))
		}
	}
	if opt.Yardstick {
		out.Yardstick, err = yardstickScenes(opt, scenes)
	}
	return out, err
}

// yardstickScenes scores the yardstick on the usable scenes; its results are kept beside the scenes
// until the script changes.
func yardstickScenes(opt options, scenes []rendered) (map[string]*score.Family, error) {
	script, err := os.ReadFile(opt.Script)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(script)
	ending := "." + hex.EncodeToString(sum[:4]) + ".yardstick.json"
	file := func(s rendered) string { return strings.TrimSuffix(s.Photo, ".jpg") + ending }

	parts := make([][]yardstickJob, max(1, opt.Workers))
	n := 0
	for _, s := range scenes {
		if _, err := os.Stat(file(s)); err == nil || !s.Truth.Usable {
			continue
		}
		part := &parts[n%len(parts)]
		*part = append(*part, yardstickJob{s.Photo, file(s), s.Truth.MMPerPx, s.Show, s.Truth.Tray, s.Truth.Ruler})
		n++
	}
	err = each(len(parts), opt.Workers, func(i int) error { return runYardstick(opt.Python, opt.Script, parts[i]) })
	if err != nil {
		return nil, err
	}
	beat := map[string]*score.Family{}
	for _, s := range scenes {
		if !s.Truth.Usable {
			continue
		}
		doc, err := readDocument(file(s))
		if err != nil {
			return nil, err
		}
		if beat[s.Family] == nil {
			beat[s.Family] = score.NewFamily(s.Family)
		}
		beat[s.Family].Add(s.Truth, doc)
	}
	return beat, nil
}
