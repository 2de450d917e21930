package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/calib"
	"gristmark/internal/intake"
	"gristmark/internal/pipeline"
	"gristmark/vision"
)

func init() { register(calibrateCommand) }

func calibrateCommand() *cli.Command {
	return &cli.Command{
		Name:      "calibrate",
		Usage:     "make a camera profile, or check the print of the card",
		ArgsUsage: "[PHOTO...]",
		Description: "A camera profile takes five or more photos, by one camera at one zoom, of the card, the mat or a\n" +
			"plain checkerboard (--board with its inner corners, --square with its squares' side), from different\n" +
			"sides, tilted by 20 to 40 degrees, near the corners of the frame too.\n" +
			"With --save it is kept, and measure takes it for all photos of that camera, lens and zoom.\n" +
			"--printed takes the length of the 100 mm check line as it came out of the printer; --check finds the\n" +
			"same from a photo of the card beside a steel rule with mm ticks. Either is kept for the sheet that\n" +
			"--form and --paper name, and measure applies it from then on; --printed 100 takes it back.\n" + kernelDescription,
		Flags: append([]cli.Flag{
			&cli.StringFlag{Name: "board", Usage: "inner corners of a checkerboard, `COLSxROWS`"},
			&cli.StringFlag{Name: "square", Usage: "side of its squares, `LENGTH` such as 25mm"},
			&cli.StringFlag{Name: "out", Aliases: []string{"o"}, Usage: "write the profile to `FILE`.json"},
			&cli.BoolFlag{Name: "save", Usage: "keep the profile for measure to find by itself"},
			&cli.StringFlag{Name: "form", Value: "card", Usage: "`SHEET` that --printed speaks of: card or mat"},
			&cli.StringFlag{Name: "paper", Value: "a4", Usage: "a4 or a3: the size of that mat"},
			&cli.StringFlag{Name: "printed", Usage: "`LENGTH` of the printed 100 mm line"},
			&cli.BoolFlag{Name: "check", Usage: "check the card's print against a rule beside it in the photo"},
		}, kernelFlags()...),
		Action: runCalibrate,
	}
}

func runCalibrate(c *cli.Context) error {
	files := c.Args().Slice()
	if wantsKernel(c) {
		return runKernel(c)
	}
	switch {
	case c.String("printed") != "":
		if len(files) > 0 || c.Bool("check") {
			return usageError("--printed goes without photos")
		}
		return sayPrinted(c, c.String("printed"))
	case len(files) == 0:
		return usageError("calibrate needs photos, or --printed with the length of the 100 mm line")
	case c.Bool("check"):
		if c.String("form") != "card" {
			return usageError("--check reads the card; for the mat give --printed")
		}
		return checkPrint(c, files)
	case c.IsSet("form") || c.IsSet("paper"):
		return usageError("--form and --paper go with --printed")
	}
	if out := c.String("out"); out != "" && filepath.Ext(out) != ".json" {
		return usageErrorf("--out %q: the profile must end in .json", out)
	}
	board, err := boardOption(c.String("board"), c.String("square"))
	if err != nil {
		return err
	}
	return makeProfile(c, files, board)
}

// boardOption reads the checkerboard; nil for the card or mat.
func boardOption(size, square string) (*calib.Board, error) {
	if size == "" && square == "" {
		return nil, nil
	}
	cols, rows, ok := strings.Cut(strings.ToLower(size), "x")
	nc, errC := strconv.Atoi(cols)
	nr, errR := strconv.Atoi(rows)
	if !ok || errC != nil || errR != nil || nc < 3 || nr < 3 || nc > 100 || nr > 100 {
		return nil, usageErrorf("--board %q: give the inner corners, at least 3x3, as in 9x6", size)
	}
	spec, err := calib.ParseSpec("grid:" + square)
	if err != nil {
		return nil, usageErrorf("--square %q: give the side of a square, as in 25mm", square)
	}
	return &calib.Board{Cols: nc, Rows: nr, SquareMM: spec.PitchMM}, nil
}

// sayPrinted tells what a printed length of the check line means.
func sayPrinted(c *cli.Context, length string) error {
	spec, err := calib.ParseSpec("card:" + length)
	if err != nil {
		return usageErrorf("--printed %q: give the length of the 100 mm line, between 90 and 110, as in 98.6mm", length)
	}
	sheet, _, err := chooseSheet(c.String("form"), c.String("paper"))
	if err != nil {
		return err
	}
	return keepPrintScale(c, sheet.Name, spec.PrintScale)
}

// keepPrintScale tells how the sheet was printed and keeps it for measure.
func keepPrintScale(c *cli.Context, sheet string, scale float64) error {
	config, err := configFolder()
	if err != nil {
		return err
	}
	if err := pipeline.KeepPrint(filepath.Join(config, printsFile), sheet, scale); err != nil {
		return err
	}
	say := wordsOf(c)
	fmt.Fprintln(c.App.Writer, say.T("The %s's print is %.1f %% of true size.", say.T(sheet), 100*scale))
	switch {
	case scale == 1:
		fmt.Fprintln(c.App.Writer, say.T("Nothing is corrected."))
	case scale > 0.998 && scale < 1.002:
		fmt.Fprintln(c.App.Writer, say.T("That is good. It is kept, and measure corrects for the rest."))
	default:
		fmt.Fprintln(c.App.Writer, say.T("It is kept, and measure corrects for it; after printing anew, check again."))
	}
	return nil
}

// shot is a photo for calibration: as the sensor stores it, not turned.
type shot struct {
	in    *intake.Intake
	photo *vision.Photo
}

func openShot(file string) (shot, error) {
	in, err := intake.Read(file)
	if err != nil {
		return shot{}, err
	}
	var p *vision.Photo
	if in.Image != nil {
		p, err = vision.FromImage(in.Image, 1)
	} else {
		p, err = vision.Decode(in.Bytes, 1)
	}
	return shot{in, p}, err
}

// makeProfile calibrates the camera from the photos.
func makeProfile(c *cli.Context, files []string, board *calib.Board) error {
	var views []calib.View
	var names []string
	var first *intake.Intake
	var width, height, refused int
	for _, file := range files {
		in, view, w, h, err := viewOf(file, board)
		if err == nil && first != nil {
			err = sameCamera(first, in, width, height, w, h)
		}
		if err != nil {
			fmt.Fprintln(complaints(c), wordsOf(c).T("%s: refused: %s", file, wordsOf(c).Say(err.Error())))
			refused++
			continue
		}
		if first == nil {
			first, width, height = in, w, h
		}
		views, names = append(views, view), append(names, file)
	}
	found, err := calib.Calibrate(views, width, height)
	if err != nil {
		return refusedErrorf("%v", err)
	}
	for i, name := range names {
		fmt.Fprintln(c.App.Writer, wordsOf(c).T("%s: %d points, %.2f px", name, len(views[i].MM), found.ViewRMSPx[i]))
	}
	l := found.Lens
	fmt.Fprintln(c.App.Writer, wordsOf(c).T("focal length %.1f px (s.d. %.1f %%), centre %.1f, %.1f px, %.2f px over all, %.0f %% of the frame covered",
		l.FocalPx, 100*l.FocalSD, l.CentreXPx, l.CentreYPx, found.RMSPx, 100*found.Coverage))
	if out := c.String("out"); out != "" {
		if err := writeProfile(out, profileOf(found, first)); err != nil {
			return err
		}
		fmt.Fprintln(c.App.Writer, wordsOf(c).T("profile: %s", out))
	}
	if c.Bool("save") {
		if err := saveProfile(c, profileOf(found, first)); err != nil {
			return err
		}
	}
	if refused > 0 {
		return refusedErrorf("%d of %d photos refused", refused, len(files))
	}
	return nil
}

// viewOf finds the board, card or mat in a photo.
func viewOf(file string, board *calib.Board) (in *intake.Intake, v calib.View, w, h int, err error) {
	s, err := openShot(file)
	if err != nil {
		return nil, v, 0, 0, err
	}
	defer s.photo.Close()
	if board != nil {
		v, err = calib.FindBoard(s.photo.Mat(), *board)
	} else {
		v, err = calib.FindSheet(s.photo.Mat())
	}
	return s.in, v, s.photo.Width(), s.photo.Height(), err
}

// sameCamera refuses a photo that another camera, lens, zoom or size took.
func sameCamera(a, b *intake.Intake, wa, ha, wb, hb int) error {
	switch {
	case wa != wb || ha != hb:
		return fmt.Errorf("it is %d x %d px, the first is %d x %d", wb, hb, wa, ha)
	case a.Make != b.Make || a.Model != b.Model || a.Lens != b.Lens || a.FocalMM != b.FocalMM:
		return errors.New("it is by another camera, lens or zoom than the first")
	}
	return nil
}

func profileOf(c *calib.Calibration, in *intake.Intake) pipeline.CameraProfile {
	l := c.Lens
	return pipeline.CameraProfile{
		Schema: pipeline.ProfileSchema, Make: in.Make, Model: in.Model, LensName: in.Lens, FocalMM: in.FocalMM,
		WidthPx: c.WidthPx, HeightPx: c.HeightPx, FocalXPx: l.FocalXPx, FocalYPx: l.FocalYPx,
		CentreXPx: l.CentreXPx, CentreYPx: l.CentreYPx, Distortion: l.Distortion,
		FocalSD: l.FocalSD, CentreSDPx: l.CentreOffsetSDPx,
	}
}

func writeProfile(file string, p pipeline.CameraProfile) error {
	data, err := json.MarshalIndent(p, "", " ")
	if err != nil {
		return err
	}
	return os.WriteFile(file, append(data, '\n'), 0o644)
}

// saveProfile keeps the profile where measure looks for it.
func saveProfile(c *cli.Context, p pipeline.CameraProfile) error {
	if p.Model == "" {
		return withHint(refusedErrorf("the photos do not name their camera, so that no photo could be matched with its profile"), "write the profile with --out, and name it to measure with --profile")
	}
	config, err := configFolder()
	if err != nil {
		return err
	}
	file := filepath.Join(config, profileFolder, pipeline.ProfileFile(p))
	if err := os.MkdirAll(filepath.Dir(file), 0o777); err != nil {
		return err
	}
	if err := writeProfile(file, p); err != nil {
		return err
	}
	fmt.Fprintln(c.App.Writer, wordsOf(c).T("kept: %s", file))
	return nil
}

// checkPrint compares the card with a rule of mm ticks in the same photo.
func checkPrint(c *cli.Context, files []string) error {
	sum := 0.0
	for _, file := range files {
		scale, err := printScale(file)
		if err != nil {
			return refusedErrorf("%s: %v", file, err)
		}
		fmt.Fprintf(c.App.Writer, "%s: %s %%\n", file, wordsOf(c).Number(100*scale, 1))
		sum += scale
	}
	return keepPrintScale(c, "card", sum/float64(len(files)))
}

func printScale(file string) (float64, error) {
	s, err := openShot(file)
	if err != nil {
		return 0, err
	}
	defer s.photo.Close()
	return calib.CheckPrint(s.photo.Mat())
}
