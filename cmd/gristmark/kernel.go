package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/calib"
	"gristmark/internal/kernels"
	"gristmark/internal/pipeline"
	"gristmark/internal/plain"
)

// kernelFlags are those of calibrate for the unbroken kernel of a hybrid.
func kernelFlags() []cli.Flag {
	return []cli.Flag{
		&cli.BoolFlag{Name: "kernel", Usage: "store what some 20 unbroken kernels of this hybrid in the photos measure, for measure --kernel NAME"},
		&cli.StringFlag{Name: "name", Usage: "`NAME` to store the kernel under, such as the hybrid's"},
		&cli.StringFlag{Name: "scale", Value: "auto", Usage: "with --kernel, the `RULER` in the photo, as of measure"},
		&cli.BoolFlag{Name: "list", Usage: "with --kernel, list the stored kernels"},
		&cli.StringFlag{Name: "forget", Usage: "remove the stored kernel `NAME`"},
	}
}

// kernelDescription is calibrate's help on kernels.
const kernelDescription = "--kernel takes photos of some 20 unbroken kernels of a hybrid, apart, beside the card, and stores their size,\n" +
	"outline and colour under --name; measure --kernel NAME then holds the pieces against them."

// wantsKernel tells whether calibrate was asked for kernels.
func wantsKernel(c *cli.Context) bool {
	return c.Bool("kernel") || c.Bool("list") || c.IsSet("forget") || c.IsSet("name") || c.IsSet("scale")
}

func runKernel(c *cli.Context) error {
	for _, name := range []string{"board", "square", "out", "save", "form", "paper", "printed", "check"} {
		if c.IsSet(name) {
			return usageErrorf("--%s does not go with --kernel", name)
		}
	}
	dir, err := kernelFolder()
	if err != nil {
		return err
	}
	files := c.Args().Slice()
	switch {
	case (c.Bool("list") || c.IsSet("forget")) && (len(files) > 0 || c.IsSet("name") || c.Bool("list") && c.IsSet("forget")):
		return usageError("--list and --forget stand alone, without photos or --name")
	case c.Bool("list"):
		return listKernels(c, dir)
	case c.IsSet("forget"):
		return forgetKernel(c, dir, c.String("forget"))
	case !c.Bool("kernel"):
		return usageError("--name and --scale go with --kernel")
	case len(files) == 0:
		return withHint(usageError("--kernel needs a photo of some 20 unbroken kernels"), "gristmark calibrate --kernel kernels.jpg --name HYBRID")
	}
	return storeKernel(c, dir, files)
}

func storeKernel(c *cli.Context, dir string, files []string) error {
	name := c.String("name")
	if err := kernels.CheckName(name); err != nil {
		return withHint(usageErrorf("--name: %s", kernelSentence(err)), "gristmark calibrate --kernel kernels.jpg --name HYBRID")
	}
	opt := pipeline.DefaultOptions()
	opt.Show, opt.Scale, opt.Picture = pipeline.ShowKernels, c.String("scale"), true
	if _, err := calib.ParseSpec(opt.Scale); err != nil {
		return usageError(err.Error())
	}
	if err := cameraOptions(c, &opt); err != nil {
		return err
	}
	outcome, err := pipeline.Default(programVersion()).Run(c.Context, files, opt)
	if err != nil {
		return interrupted(c.Context, err)
	}
	sayRefused(c, outcome.Document.Photos)
	if outcome.Refused() == len(files) {
		return refusedPhotos(outcome)
	}
	s, sorted, err := pipeline.MakeKernel(name, outcome)
	if err != nil {
		return refusedErrorf("the kernel is not stored: %s", kernelSentence(err))
	}
	before, errBefore := pipeline.ReadKernel(dir, name)
	file, err := pipeline.KeepKernel(dir, s)
	if err != nil {
		return err
	}
	tellKernel(c.App.Writer, s, sorted)
	if errBefore == nil {
		fmt.Fprintf(c.App.Writer, "It takes the place of the one of %d kernels%s.\n", before.N, ofDate(before))
	}
	fmt.Fprintf(c.App.Writer, "kept: %s\n", file)
	return refusedPhotos(outcome)
}

func kernelSentence(err error) string {
	return strings.TrimPrefix(strings.TrimPrefix(err.Error(), "pipeline: "), "kernels: ")
}

func ofDate(s kernels.Stored) string {
	if len(s.TakenAt) < len("2006-01-02") {
		return ""
	}
	return ", photographed on " + s.TakenAt[:len("2006-01-02")]
}

// tellKernel says what is stored, and what of the photos was left out of it.
func tellKernel(w io.Writer, s kernels.Stored, sorted kernels.Sorted) {
	ruler := "the " + s.Ruler
	if s.Ruler == "given" {
		ruler = "the number given"
	}
	io.WriteString(w, plain.Hang("", fmt.Sprintf("%s: %d whole kernels%s, measured by %s", s.Name, s.N, ofDate(s), ruler)))
	io.WriteString(w, plain.Hang("  ", kernelSizes(s)+" (mean ± s.d.)"))
	io.WriteString(w, plain.Hang("  ", fmt.Sprintf("thickness taken as %.1f mm: %s", s.ThicknessMM, s.ThicknessFrom)))
	var left []string
	for _, part := range []struct {
		n    int
		what string
	}{{len(sorted.Broken), "broken"}, {len(sorted.Other), "no kernel"}, {len(sorted.Twins), "touching another"}, {sorted.Cut, "cut by an edge"}} {
		if part.n > 0 {
			left = append(left, fmt.Sprintf("%d %s", part.n, part.what))
		}
	}
	if len(left) > 0 {
		io.WriteString(w, plain.Hang("  ", "left out: "+strings.Join(left, ", ")))
	}
}

func kernelSizes(s kernels.Stored) string {
	return fmt.Sprintf("length %.1f ± %.1f mm, width %.1f ± %.1f mm, area %.0f ± %.0f mm²",
		s.LengthMM.Mean, s.LengthMM.SD, s.WidthMM.Mean, s.WidthMM.SD, s.AreaMM2.Mean, s.AreaMM2.SD)
}

// listKernels prints the stored kernels, some lines each.
func listKernels(c *cli.Context, dir string) error {
	list, err := pipeline.ListKernels(dir)
	if err != nil {
		fmt.Fprintf(c.App.ErrWriter, "left out: %s\n", kernelSentence(err))
	}
	if len(list) == 0 {
		fmt.Fprintln(c.App.ErrWriter, "no kernel is stored; gristmark calibrate --kernel PHOTO --name HYBRID stores one")
	}
	for _, s := range list {
		io.WriteString(c.App.Writer, plain.Hang("", fmt.Sprintf("%s: %d kernels%s", s.Name, s.N, ofDate(s))))
		io.WriteString(c.App.Writer, plain.Hang("  ", kernelSizes(s)))
	}
	return nil
}

func forgetKernel(c *cli.Context, dir, name string) error {
	err := pipeline.ForgetKernel(dir, name)
	if errors.Is(err, fs.ErrNotExist) {
		return withHint(usageErrorf("no kernel is stored as %q", name), "gristmark calibrate --kernel --list names those that are")
	}
	if err == nil {
		fmt.Fprintf(c.App.Writer, "%s is forgotten.\n", name)
	}
	return err
}

// storedKernel reads a kernel from the user's configuration folder.
func storedKernel(name string) (pipeline.Kernel, error) {
	if strings.ContainsAny(name, `/\`) {
		return pipeline.Kernel{}, usageErrorf("--kernel %q is neither LENGTHxWIDTHxTHICKNESS nor a stored kernel's name", name)
	}
	dir, err := kernelFolder()
	if err != nil {
		return pipeline.Kernel{}, err
	}
	s, err := pipeline.ReadKernel(dir, name)
	if errors.Is(err, fs.ErrNotExist) {
		return pipeline.Kernel{}, withHint(usageErrorf("no kernel is stored as %q", name),
			"gristmark calibrate --kernel PHOTO --name HYBRID stores one; or give its size in mm, as in --kernel 10.5x7.3x4.6")
	}
	if err != nil {
		return pipeline.Kernel{}, usageErrorf("--kernel %q: %s", name, kernelSentence(err))
	}
	return pipeline.StoredKernel(s), nil
}

// isStored tells whether a kernel is stored under exactly this name.
func isStored(name string) bool {
	dir, err := kernelFolder()
	if err != nil || kernels.CheckName(name) != nil {
		return false
	}
	_, err = os.Stat(pipeline.KernelFile(dir, name))
	return err == nil
}
