// Command table measures drawn photos of every ruler and prints how well their scales hold.
//
//	go run ./internal/accuracy/rulers/table -out docs/rulers.md     the page of docs
//	go run ./internal/accuracy/rulers/table -seeds tuning -only grid -v -save build/odd
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

// options of a run.
type options struct {
	scenes, falses, turns int
	only, save, out       string
	seed                  uint64
	verbose               bool
}

func main() {
	var opt options
	flag.IntVar(&opt.scenes, "scenes", 200, "scenes of each ruler")
	flag.IntVar(&opt.falses, "false", 300, "photos without a ruler, for each kind that is asked for")
	flag.IntVar(&opt.turns, "time", 5, "turns to time each ruler")
	flag.StringVar(&opt.only, "only", "", "the rulers whose name begins so")
	flag.StringVar(&opt.save, "save", "", "folder for the photos that gave no scale or a wrong one")
	flag.StringVar(&opt.out, "out", "", "file to keep the page in")
	flag.BoolVar(&opt.verbose, "v", false, "a line for each scene")
	seeds := flag.String("seeds", "reporting", "reporting or tuning")
	flag.Parse()
	calib.SetNumThreads(1)
	opt.seed = 70_000_000
	if *seeds == "tuning" {
		opt.seed = 1_000_000
	}
	page, err := run(opt)
	if err == nil && opt.out != "" {
		err = os.WriteFile(opt.out, []byte(page), 0o644)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	fmt.Print(page)
}

func run(opt options) (string, error) {
	var all []rulers.Summary
	var times []rulers.Timing
	for i, r := range rulers.Rulers() {
		if !strings.HasPrefix(r.Name, opt.only) {
			continue
		}
		seed := opt.seed + uint64(i)*10_000
		if opt.scenes > 0 {
			s, err := rulers.Run(r, seed, opt.scenes, runtime.NumCPU())
			if err != nil {
				return "", err
			}
			all = append(all, s)
			if err := tell(opt, s); err != nil {
				return "", err
			}
		}
		if opt.turns > 0 && !strings.Contains(r.Name, "barrel") {
			t, err := rulers.Time(r, seed, opt.turns)
			if err != nil {
				return "", err
			}
			times = append(times, t)
		}
	}
	var falses []rulers.False
	for _, k := range []calib.Kind{calib.Auto, calib.Grid, calib.Rule, calib.Frame} {
		if opt.falses > 0 && strings.HasPrefix(string(k), opt.only) {
			f, err := rulers.RunFalse(k, opt.seed, opt.falses, runtime.NumCPU())
			if err != nil {
				return "", err
			}
			falses = append(falses, f)
		}
	}
	return rulers.Document(all, falses, times), nil
}

// tell prints a line for each scene and keeps those that are odd, as far as asked for.
func tell(opt options, s rulers.Summary) error {
	for _, x := range s.Scores {
		if opt.verbose {
			fmt.Fprintf(os.Stderr, "%s %d: error %.3f %%, true %.3f %%, s.d. %.3f %%, tilt %.1f, along %.3f %% %s %s\n", s.Ruler.Name, x.Seed, 100*x.Error, 100*x.True, 100*x.SD, x.TiltDeg, 100*x.Along, x.Note, x.Problem)
		}
		if opt.save != "" && (x.Problem != "" || !x.Holds()) {
			if err := keep(opt.save, s.Ruler, x.Seed); err != nil {
				return err
			}
		}
	}
	return nil
}

func keep(dir string, r rulers.Ruler, seed uint64) error {
	data, err := r.Draw(seed, rulers.Small).JPEG()
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	name := strings.NewReplacer(" ", "-", ",", "", "°", "", "%", "").Replace(r.Name)
	return os.WriteFile(filepath.Join(dir, fmt.Sprintf("%s-%d.jpg", name, seed)), data, 0o644)
}
