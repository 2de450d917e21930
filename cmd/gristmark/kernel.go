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
	"gristmark/internal/report"
	"gristmark/internal/words"
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
	opt.Colour = true
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
	tellKernel(c.App.Writer, s, sorted, wordsOf(c))
	if errBefore == nil {
		fmt.Fprintln(c.App.Writer, wordsOf(c).T("It takes the place of the one of %d kernels%s.", before.N, ofDate(before, wordsOf(c))))
	}
	fmt.Fprintln(c.App.Writer, wordsOf(c).T("kept: %s", file))
	return refusedPhotos(outcome)
}

func kernelSentence(err error) string {
	return strings.TrimPrefix(strings.TrimPrefix(err.Error(), "pipeline: "), "kernels: ")
}

func ofDate(s kernels.Stored, say *words.Words) string {
	if len(s.TakenAt) < len("2006-01-02") {
		return ""
	}
	return say.T(", photographed on %s", s.TakenAt[:len("2006-01-02")])
}

// tellKernel says what is stored, and what of the photos was left out of it.
func tellKernel(w io.Writer, s kernels.Stored, sorted kernels.Sorted, say *words.Words) {
	io.WriteString(w, plain.Hang("", say.T("%s: %d whole kernels%s, measured by %s", s.Name, s.N, ofDate(s, say), report.RulerText(s.Ruler, say))))
	io.WriteString(w, plain.Hang("  ", kernelSizes(s, say)+" "+say.T("(mean ± s.d.)")))
	io.WriteString(w, plain.Hang("  ", say.T("thickness taken as %s: %s", say.Length(s.ThicknessMM), say.Say(s.ThicknessFrom))))
	var left []string
	for _, part := range []struct {
		n    int
		what string
	}{{len(sorted.Broken), say.T("broken")}, {len(sorted.Other), say.T("no kernel")}, {len(sorted.Twins), say.T("touching another")}, {sorted.Cut, say.T("cut by an edge")}} {
		if part.n > 0 {
			left = append(left, fmt.Sprintf("%d %s", part.n, part.what))
		}
	}
	if len(left) > 0 {
		io.WriteString(w, plain.Hang("  ", say.T("left out: %s", strings.Join(left, ", "))))
	}
}

func kernelSizes(s kernels.Stored, say *words.Words) string {
	decimals := 1
	if say.Units() == words.US {
		decimals = 3
	}
	of := func(mean, sd float64) string {
		return fmt.Sprintf("%s ± %s %s", say.Number(say.InLengthUnit(mean), decimals), say.Number(say.InLengthUnit(sd), decimals), say.LengthUnit())
	}
	return say.T("length %s, width %s, area %s ± %s", of(s.LengthMM.Mean, s.LengthMM.SD), of(s.WidthMM.Mean, s.WidthMM.SD), say.BareArea(s.AreaMM2.Mean), say.Area(s.AreaMM2.SD))
}

// listKernels prints the stored kernels, some lines each.
func listKernels(c *cli.Context, dir string) error {
	list, err := pipeline.ListKernels(dir)
	if err != nil {
		fmt.Fprintln(complaints(c), wordsOf(c).T("left out: %s", wordsOf(c).Say(kernelSentence(err))))
	}
	if len(list) == 0 {
		fmt.Fprintln(c.App.ErrWriter, wordsOf(c).T("no kernel is stored; gristmark calibrate --kernel PHOTO --name HYBRID stores one"))
	}
	for _, s := range list {
		io.WriteString(c.App.Writer, plain.Hang("", wordsOf(c).T("%s: %d kernels%s", s.Name, s.N, ofDate(s, wordsOf(c)))))
		io.WriteString(c.App.Writer, plain.Hang("  ", kernelSizes(s, wordsOf(c))))
	}
	return nil
}

func forgetKernel(c *cli.Context, dir, name string) error {
	err := pipeline.ForgetKernel(dir, name)
	if errors.Is(err, fs.ErrNotExist) {
		return withHint(usageErrorf("no kernel is stored as %q", name), "gristmark calibrate --kernel --list names those that are")
	}
	if err == nil {
		fmt.Fprintln(c.App.Writer, wordsOf(c).T("%s is forgotten.", name))
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
