// Command bench times a whole measurement of a 12-megapixel photo and holds it against merely decoding
// the same JPEG as the program does, but in ordinary pages of memory, and against scikit-image doing load, Lab, threshold, label and regionprops. All
// run on one processor, by turns; times are processor time. The ratios compare between machines, the seconds do not.
//
//	go run ./internal/bench [--rounds N] [--photo FILE]
//	go run ./internal/bench --batch [--small N] [--full N]
//
// The second form scores a folder of photos with one and with two processors, and a quarter of it.
package main

import (
	"flag"
	"fmt"
	"os"
	"strconv"
)

// options of a run.
type options struct {
	Photo   string // measured instead of a rendered one
	Program string
	Python  string
	Script  string
	Cache   string
	Rounds  int
	Batch   bool
	Folder  batchBench
}

func main() {
	// The timed parts run in processes of their own: this program calls itself.
	if len(os.Args) == 5 && os.Args[1] == partFlag {
		exitOn(timePart(os.Args[2], os.Args[3], os.Args[4]))
		return
	}
	var opt options
	flag.StringVar(&opt.Photo, "photo", "", "a photo to measure; without, one is rendered")
	flag.StringVar(&opt.Program, "program", "bin/gristmark", "the built program")
	flag.StringVar(&opt.Python, "python", "/usr/bin/python3", "python with scikit-image")
	flag.StringVar(&opt.Script, "script", "scripts/bench_skimage.py", "what scikit-image does")
	flag.StringVar(&opt.Cache, "cache", "build/bench", "folder of the rendered photo")
	flag.IntVar(&opt.Rounds, "rounds", 5, "rounds")
	flag.BoolVar(&opt.Batch, "batch", false, "score a folder of photos with one and two processors instead")
	flag.IntVar(&opt.Folder.Small, "small", 2000, "small photos of the folder")
	flag.IntVar(&opt.Folder.Full, "full", 60, "full-size photos of the folder")
	flag.IntVar(&opt.Folder.BrokenEvery, "broken", 20, "one photo in so many of the folder is broken")
	flag.Parse()
	exitOn(run(opt))
}

func exitOn(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(opt options) error {
	self, err := os.Executable()
	if err != nil {
		return err
	}
	if opt.Batch {
		return opt.Folder.run(self, opt)
	}
	photo := opt.Photo
	if photo == "" {
		if photo, err = ensureRendered(self, opt.Cache); err != nil {
			return err
		}
	}
	contestants := []*contestant{
		{Name: "decode alone", Command: []string{self, partFlag, "decode", photo, "3"}},
		{Name: "finding the scale alone", Command: []string{self, partFlag, "scale", photo, "3"}},
		{Name: "whole measurement", Command: []string{opt.Program, "measure", "--json", photo}, Whole: true},
		{Name: "scikit-image chain", Command: []string{opt.Python, opt.Script, photo, "1"}},
	}
	for round := range opt.Rounds {
		for _, c := range contestants {
			if err := c.turn(); err != nil {
				return fmt.Errorf("bench: round %s, %s: %w", strconv.Itoa(round+1), c.Name, err)
			}
		}
	}
	times, err := rulerTimes(self, opt.Rounds)
	if err != nil {
		return err
	}
	fmt.Print(report(photo, opt.Rounds, contestants) + reportRulers(times))
	return nil
}
