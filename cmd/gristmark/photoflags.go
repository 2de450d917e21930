package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/calib"
	"gristmark/internal/advice"
	"gristmark/internal/lab"
	"gristmark/internal/pipeline"
)

// photoFlags are the options that measure and batch share.
func photoFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringFlag{Name: "show", Value: pipeline.ShowMixed, Usage: "what lies on the tray: `WHAT` is kernels (washed out by the water test), pieces (screened or loose fodder) or mixed"},
		&cli.StringFlag{Name: "scale", Value: "auto", Usage: "`RULER` in the photo: auto (card, then mat), card, mat, grid:PITCHmm, rule:PITCHmm, frame:WIDTHxHEIGHTmm, or a number of mm per px"},
		&cli.StringFlag{Name: "kernel", Usage: "an unbroken `KERNEL` of this crop: LENGTHxWIDTHxTHICKNESS in mm, or the name of a stored one"},
		&cli.StringFlag{Name: "profile", Usage: "camera profile `FILE` from gristmark calibrate"},
		&cli.StringFlag{Name: "targets", Usage: "target `FILE` in place of the built-in sets"},
		&cli.StringFlag{Name: "correction", Usage: "stored correction `FILE` to the laboratory, from gristmark lab fit"},
		&cli.StringFlag{Name: "process", Usage: "`PROCESS` of the harvester: conventional, shredding or unprocessed"},
		&cli.StringFlag{Name: "state", Usage: "`STATE` of the crop: fresh or fermented"},
		&cli.Float64Flag{Name: "dm", Usage: "dry matter of the crop, `PERCENT`"},
		&cli.Float64Flag{Name: "tloc", Usage: "theoretical length of cut, `MM`"},
		&cli.Float64Flag{Name: "gap", Usage: "roll gap, `MM`"},
		&cli.Float64Flag{Name: "speed-diff", Usage: "speed difference of the rolls, `PERCENT`"},
		&cli.Float64Flag{Name: "knife-hours", Usage: "`HOURS` of cutting since the knives were sharpened"},
		&cli.Float64Flag{Name: "throughput", Usage: "fresh chop, `TONNES` per hour"},
		&cli.IntFlag{Name: "workers", Value: pipeline.DefaultWorkers(), Usage: "`N` photos at once, up to 600 MB each; results do not depend on it"},
	}
}

// photoOptions reads the shared options; every fault is the caller's.
func photoOptions(c *cli.Context) (pipeline.Options, error) {
	opt := pipeline.DefaultOptions()
	opt.Show, opt.Scale, opt.Workers = c.String("show"), c.String("scale"), c.Int("workers")
	if _, err := calib.ParseSpec(opt.Scale); err != nil {
		return opt, usageError(err.Error())
	}
	switch opt.Show {
	case pipeline.ShowKernels, pipeline.ShowPieces, pipeline.ShowMixed:
	default:
		return opt, usageErrorf("--show %q: choose kernels, pieces or mixed", opt.Show)
	}
	if opt.Workers < 1 {
		return opt, usageErrorf("--workers %d: it takes at least 1", opt.Workers)
	}
	var err error
	if opt.Kernel, err = kernelOption(c.String("kernel")); err != nil {
		return opt, err
	}
	if opt.Context, err = contextOptions(c); err != nil {
		return opt, err
	}
	if err := advice.GuardWaterTest(opt.Context.State, opt.Show); err != nil {
		return opt, refusedError(err.Error())
	}
	if opt.Targets, err = targetOption(c.String("targets"), opt.Context.Process); err != nil {
		return opt, err
	}
	if opt.Correction, err = correctionOption(c.String("correction"), opt.Context.State); err != nil {
		return opt, err
	}
	if err = cameraOptions(c, &opt); err == nil {
		sayOptions(c, opt)
	}
	return opt, err
}

// sayOptions tells with --verbose what photos are measured with.
func sayOptions(c *cli.Context, opt pipeline.Options) {
	sayMore(c, "showing %s, scale %s, %d at once, targets %s", opt.Show, opt.Scale, opt.Workers, opt.Targets.Name)
	k, say := opt.Kernel, wordsOf(c)
	sayMore(c, "unbroken kernel %s × %s × %s %s (%s)", say.Limit(k.LengthMM), say.Limit(k.WidthMM), say.Limit(k.ThicknessMM), say.LengthUnit(), say.T(k.From))
}

// correctionOption reads a stored correction and refuses one of the other state of the crop; nil for an empty name.
func correctionOption(file, state string) (*lab.Correction, error) {
	if file == "" {
		return nil, nil
	}
	correction, err := readCorrection(file)
	if err != nil {
		return nil, err
	}
	if err := correction.Fits(state); err != nil {
		return nil, refusedErrorf("%s: %v", file, err)
	}
	return correction, nil
}

func contextOptions(c *cli.Context) (advice.Context, error) {
	ctx := advice.Context{Process: c.String("process"), State: c.String("state")}
	for name, field := range map[string]**float64{
		"dm": &ctx.DMPct, "tloc": &ctx.TLOCMM, "gap": &ctx.RollGapMM, "speed-diff": &ctx.SpeedDiffPct,
		"knife-hours": &ctx.KnifeHours, "throughput": &ctx.ThroughputTPH,
	} {
		if c.IsSet(name) {
			v := c.Float64(name)
			*field = &v
		}
	}
	if err := ctx.Validate(); err != nil {
		return ctx, usageError(err.Error())
	}
	return ctx, nil
}

// targetOption picks the set for the process out of the file, or out of the built-in sets.
func targetOption(file, process string) (advice.TargetSet, error) {
	catalogue := advice.Targets()
	if file != "" {
		f, err := os.Open(file)
		if err != nil {
			return advice.TargetSet{}, withHint(refusedErrorf("the target file cannot be read: %v", err), "gristmark targets prints the built-in sets, to start from")
		}
		defer f.Close()
		if catalogue, err = advice.LoadTargets(f); err != nil {
			return advice.TargetSet{}, refusedErrorf("%s: %v", file, err)
		}
	}
	set, err := catalogue.Pick("", process, "19-8-4")
	if err != nil {
		set, err = catalogue.Pick("", process, "")
	}
	if err != nil {
		return set, refusedError(err.Error())
	}
	return set, nil
}

// Limits of a kernel's sides in mm; outside them the unit is wrong.
const minKernelMM, maxKernelMM = 1.5, 25

// kernelOption reads LENGTHxWIDTHxTHICKNESS, or a stored kernel's name; empty is the default.
func kernelOption(s string) (pipeline.Kernel, error) {
	if s == "" {
		return pipeline.DefaultKernel(), nil
	}
	number := strings.TrimSuffix(strings.ToLower(s), "mm")
	sides := strings.Split(number, "x")
	if _, err := strconv.ParseFloat(sides[0], 64); err != nil || isStored(s) {
		return storedKernel(s)
	}
	var v [3]float64
	if len(sides) != len(v) {
		return pipeline.Kernel{}, usageErrorf("--kernel %q: write LENGTHxWIDTHxTHICKNESS in mm, as in 10.5x7.3x4.6", s)
	}
	for i, side := range sides {
		var err error
		if v[i], err = strconv.ParseFloat(strings.TrimSpace(side), 64); err != nil {
			return pipeline.Kernel{}, usageErrorf("--kernel %q: %q is no number", s, side)
		}
	}
	return checkKernel(pipeline.Kernel{LengthMM: v[0], WidthMM: v[1], ThicknessMM: v[2], From: "given"}, "--kernel "+strconv.Quote(s))
}

func checkKernel(k pipeline.Kernel, where string) (pipeline.Kernel, error) {
	for _, side := range []float64{k.LengthMM, k.WidthMM, k.ThicknessMM} {
		if !(side >= minKernelMM && side <= maxKernelMM) {
			return k, usageErrorf("%s: a side of %g mm; kernels measure %g to %g mm, check the unit", where, side, minKernelMM, float64(maxKernelMM))
		}
	}
	if k.WidthMM > k.LengthMM || k.ThicknessMM > k.WidthMM {
		return k, usageErrorf("%s: the sides go from length over width to thickness, falling", where)
	}
	return k, nil
}

// kernelFolder is where stored kernels lie, one JSON file each.
func kernelFolder() (string, error) {
	dir, err := os.UserConfigDir()
	if err != nil {
		return "", fmt.Errorf("no folder for stored kernels: %w", err)
	}
	return filepath.Join(dir, "gristmark", "kernels"), nil
}
