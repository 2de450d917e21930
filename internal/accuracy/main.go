// Command accuracy measures rendered scenes and real photographs with the built program and holds the
// results against their truth.
//
//	go run ./internal/accuracy                   the report on scenes that nothing was tuned on
//	go run ./internal/accuracy --seeds tuning    the scenes to tune on
//	go run ./internal/accuracy --short           few scenes, at most five minutes
//
// Scenes are rendered into build/scenes once and used again as long as the renderer is the same.
package main

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"gristmark/internal/accuracy/photographs"
)

// options of a run.
type options struct {
	Seeds     string   // tuning or reporting
	Scenes    int      // a family
	Families  []string // all when empty
	Short     bool
	Out       string // where the report is kept; printed only when empty
	Program   program
	Python    string
	Script    string
	Cache     string
	Workers   int
	Yardstick bool
}

// Scenes of each family in a full run of every family, and in a short one of a few.
const (
	fullScenes  = 6
	shortScenes = 1
)

// shortFamilies are those that most changes would show in.
var shortFamilies = []string{
	"kernels-apart", "kernels-touching", "kernels-wet", "kernels-nicked", "straws-apart", "straws-crossing", "leaf-scraps", "cob-husk",
	"pieces", "mixed", "mixed-touching", "tray-white", "tray-wood", "mat-a4", "hard-sun", "tilted", "barrel", "soil-stones",
	"no-card", "heaped", "blurred",
}

func main() {
	opt, err := parse(os.Args[1:])
	if err == nil {
		err = run(opt)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func parse(arguments []string) (options, error) {
	var opt options
	var families string
	f := flag.NewFlagSet("accuracy", flag.ExitOnError)
	f.StringVar(&opt.Seeds, "seeds", "reporting", "which seeds: tuning or reporting")
	f.IntVar(&opt.Scenes, "scenes", 0, "scenes of each family; 0 for the usual number")
	f.StringVar(&families, "families", "", "families to measure, separated by commas; all without")
	f.BoolVar(&opt.Short, "short", false, "one scene of some families")
	f.StringVar(&opt.Out, "out", "", "file to keep the report in")
	f.StringVar((*string)(&opt.Program), "program", "bin/gristmark", "the built program")
	f.StringVar(&opt.Python, "python", "/usr/bin/python3", "python with scikit-image")
	f.StringVar(&opt.Script, "script", "scripts/yardstick.py", "the yardstick")
	f.StringVar(&opt.Cache, "cache", "build/scenes", "folder of rendered scenes")
	f.IntVar(&opt.Workers, "workers", runtime.NumCPU(), "scenes at a time")
	f.BoolVar(&opt.Yardstick, "yardstick", true, "run the yardstick too")
	if err := f.Parse(arguments); err != nil {
		return opt, err
	}
	if families != "" {
		opt.Families = strings.Split(families, ",")
	} else if opt.Short {
		opt.Families = shortFamilies
	}
	if opt.Scenes == 0 {
		opt.Scenes = fullScenes
		if opt.Short {
			opt.Scenes = shortScenes
		}
	}
	if _, ok := seeds[opt.Seeds]; !ok {
		return opt, fmt.Errorf("accuracy: --seeds takes tuning or reporting, not %q", opt.Seeds)
	}
	return opt, nil
}

func run(opt options) error {
	began := time.Now()
	if _, err := os.Stat(string(opt.Program)); err != nil {
		return fmt.Errorf("accuracy: %s is not built; run make build", opt.Program)
	}
	scenes, err := prepare(opt)
	if err != nil {
		return err
	}
	results, err := measureScenes(opt, scenes)
	if err != nil {
		return err
	}
	reals, absent := measureReal(opt.Program)
	report := compose(opt, results, reals) +
		"\n## Real photographs\n\n" + realTable(reals, absent) +
		"\n### Chessboards, squares of 25 mm\n\n" + chessboards(opt.Program, filepath.Join(photographs.Shared, "chessboard"))
	fmt.Print(report)
	fmt.Fprintf(os.Stderr, "accuracy: %d scenes in %s\n", len(scenes), time.Since(began).Round(time.Second))
	if opt.Out == "" {
		return nil
	}
	return os.WriteFile(opt.Out, []byte(report), 0o644)
}

// commit names the commit that is measured.
func commit() string {
	out, err := exec.Command("git", "rev-parse", "--short", "HEAD").Output()
	if err != nil {
		return "unknown"
	}
	name := strings.TrimSpace(string(out))
	changed, err := exec.Command("git", "status", "--porcelain", "--untracked-files=no", "--", "*.go", "*.cpp", "*.h", "*.json", "*.yaml", "go.mod").Output()
	if err != nil || len(changed) > 0 {
		name += " with changes"
	}
	return name
}
