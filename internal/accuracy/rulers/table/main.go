// Command table measures drawn photos of every ruler and prints how well their scales hold.
//
//	go run ./internal/accuracy/rulers/table [-scenes N] [-only NAME] [-seeds tuning] [-out FILE]
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"gristmark/calib"
	"gristmark/internal/accuracy/rulers"
)

func main() {
	scenes := flag.Int("scenes", 200, "scenes of each ruler")
	only := flag.String("only", "", "the rulers whose name begins so")
	seeds := flag.String("seeds", "reporting", "reporting or tuning")
	save := flag.String("save", "", "folder for the photos that gave no scale or a wrong one")
	turns := flag.Int("time", 0, "time so many turns of each ruler instead")
	draw := flag.Uint64("draw", 0, "only draw this scene of each ruler, in 12 megapixels, into -save")
	verbose := flag.Bool("v", false, "a line for each scene")
	flag.Parse()
	calib.SetNumThreads(1)
	seed := uint64(50_000_000)
	if *seeds == "tuning" {
		seed = 1_000_000
	}
	if *turns > 0 {
		exitOn(timeAll(*only, seed, *turns))
		return
	}
	if *draw > 0 {
		for _, r := range rulers.Rulers() {
			if strings.HasPrefix(r.Name, *only) {
				exitOn(keep(*save, r, *draw, rulers.Large))
			}
		}
		return
	}
	var all []rulers.Summary
	for i, r := range rulers.Rulers() {
		if !strings.HasPrefix(r.Name, *only) {
			continue
		}
		s, err := rulers.Run(r, seed+uint64(i)*10_000, *scenes, runtime.NumCPU())
		exitOn(err)
		all = append(all, s)
		for _, x := range s.Scores {
			if *verbose {
				fmt.Fprintf(os.Stderr, "%s %d: error %.3f %%, true %.3f %%, s.d. %.3f %%, tilt %.1f, along %.3f %% %s %s\n", r.Name, x.Seed, 100*x.Error, 100*x.True, 100*x.SD, x.TiltDeg, 100*x.Along, x.Note, x.Problem)
			}
			if odd := x.Problem != "" || !x.Holds(); odd && *save != "" {
				exitOn(keep(*save, r, x.Seed, rulers.Small))
			}
		}
	}
	fmt.Print(rulers.Report(all))
	for _, m := range rulers.Missed(all) {
		fmt.Println("- not reached:", m)
	}
}

func timeAll(only string, seed uint64, turns int) error {
	for i, r := range rulers.Rulers() {
		if !strings.HasPrefix(r.Name, only) {
			continue
		}
		t, err := rulers.Time(r, seed+uint64(i)*10_000, turns)
		if err != nil {
			return err
		}
		fmt.Printf("%s: decode %d ms, find %d ms: %.2f decodes, found %v\n", r.Name, t.Decode.Milliseconds(), t.Find.Milliseconds(), t.Over(), t.Found)
	}
	return nil
}

func keep(dir string, r rulers.Ruler, seed uint64, size rulers.Size) error {
	data, err := r.Draw(seed, size).JPEG()
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	name := strings.NewReplacer(" ", "-", ",", "", "°", "", "%", "").Replace(r.Name)
	return os.WriteFile(filepath.Join(dir, fmt.Sprintf("%s-%d.jpg", name, seed)), data, 0o644)
}

func exitOn(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
