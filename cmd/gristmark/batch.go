package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"github.com/urfave/cli/v2"

	"gristmark/internal/pipeline"
	"gristmark/internal/report"
	"gristmark/internal/report/paper"
	"gristmark/internal/result"
	"gristmark/internal/words"
)

func init() { register(batchCommand) }

func batchCommand() *cli.Command {
	return &cli.Command{
		Name:      "batch",
		Usage:     "score a folder of photos, many samples",
		ArgsUsage: "FOLDER --out DIR",
		Description: "The photos of each sub-folder are one sample, and so are those directly in FOLDER; --group\n" +
			"changes that. DIR gets results.csv (one row a photo and one a sample, told apart by the column\n" +
			"\"row\"), refused.csv, particles.csv and particles.parquet (one row a particle), results.xlsx (a sheet a table),\n" +
			"documents/ (a measurement document a sample), overlays/, report/ (open report/index.html in a browser), and .gristmark/, which holds what was measured: the\n" +
			"same command goes on where it was cut off. Nothing is written into FOLDER.",
		Flags: append(photoFlags(),
			&cli.StringFlag{Name: "out", Usage: "write the results into `DIR`, outside FOLDER"},
			&cli.StringFlag{Name: "group", Value: string(pipeline.ByFolder), Usage: "`WHAT` is one sample: folder, name (names that differ in a last one- or two-digit number or letter alone) or photo"},
			&cli.BoolFlag{Name: "outlines", Usage: "add the outline of each particle to the documents"},
			&cli.BoolFlag{Name: "no-overlays", Usage: "draw no overlays"},
			&cli.BoolFlag{Name: "no-report", Usage: "write no report folder"},
			&cli.StringFlag{Name: "pdf", Usage: "write season.pdf, and sheets/ with a page a sample for the operator, on `PAPER`: a4 or letter"},
			&cli.StringFlag{Name: "plots", Usage: "write the charts into plots/ as files of `FORMAT`: png, svg or both"},
			&cli.BoolFlag{Name: "json", Usage: "print the measurement documents, a line each, and nothing else"},
		),
		Action: runBatch,
	}
}

func runBatch(c *cli.Context) error {
	opt, err := photoOptions(c)
	if err != nil {
		return err
	}
	opt.Picture = !c.Bool("no-overlays")
	b, err := newBatchJob(c, opt)
	if err != nil {
		return err
	}
	stages := pipeline.Default(programVersion())
	b.progress.start()
	err = stages.Batch(c.Context, pipeline.Work{
		Folder: b.folder, Samples: b.samples, Store: b.store, Options: opt, Photo: b.photoDone, Sample: b.sampleDone,
	})
	b.progress.stop()
	if err != nil && c.Context.Err() != nil {
		return withHint(interrupted(c.Context, err), "the same command goes on where this one stopped")
	}
	if err != nil {
		return err
	}
	if err := b.writeTables(); err != nil {
		return err
	}
	return b.tell(c)
}

// batchJob is a folder being scored.
type batchJob struct {
	folder, out string
	samples     []pipeline.Batch
	store       pipeline.Store
	opt         pipeline.Options
	outlines    bool
	json        bool
	report      bool
	pdf         string // a4, letter, or empty for none
	plots       string // png, svg, both, or empty for none
	progress    *progress
	words       *words.Words // language and units of what people read

	mu        sync.Mutex
	rows      [][]report.Row // of each sample, its own row first
	documents [][]byte       // of each sample, where they are to be printed

	uncorrected int // samples that the correction does not speak of
}

func newBatchJob(c *cli.Context, opt pipeline.Options) (*batchJob, error) {
	if c.NArg() != 1 {
		return nil, withHint(usageErrorf("batch takes one folder, not %d", c.NArg()), "gristmark batch photos --out results")
	}
	b := &batchJob{folder: c.Args().First(), out: c.String("out"), opt: opt, words: wordsOf(c), outlines: c.Bool("outlines"), json: c.Bool("json"), report: !c.Bool("no-report"), plots: c.String("plots"), pdf: strings.ToLower(c.String("pdf"))}
	if b.out == "" {
		return nil, withHint(usageError("batch needs --out DIR, a folder for the results"), "gristmark batch "+b.folder+" --out results")
	}
	if err := checkFolders(b.folder, b.out); err != nil {
		return nil, err
	}
	group := pipeline.Group(c.String("group"))
	switch group {
	case pipeline.ByFolder, pipeline.ByName, pipeline.ByPhoto:
	default:
		return nil, usageErrorf("--group %q: choose folder, name or photo", group)
	}
	if b.pdf != "" && !slices.Contains(paper.Sizes, b.pdf) {
		return nil, usageErrorf("--pdf %q: choose %s", b.pdf, strings.Join(paper.Sizes, " or "))
	}
	switch b.plots {
	case "", "png", "svg", "both":
	default:
		return nil, usageErrorf("--plots %q: choose png, svg or both", b.plots)
	}
	var err error
	if b.samples, err = pipeline.Samples(b.folder, group); err != nil {
		return nil, err
	}
	photos := 0
	for _, s := range b.samples {
		photos += len(s.Photos)
	}
	if photos == 0 {
		return nil, refusedErrorf("there are no photos in %s", b.folder)
	}
	b.rows, b.documents = make([][]report.Row, len(b.samples)), make([][]byte, len(b.samples))
	b.store = pipeline.Store{Dir: filepath.Join(b.out, ".gristmark"), Version: buildID()}
	b.progress = newProgress(c.App.ErrWriter, photos)
	return b, os.MkdirAll(b.out, 0o777)
}

// checkFolders refuses a folder that is none, and results within the photos' folder or the other way round
// where they would mix.
func checkFolders(folder, out string) error {
	info, err := os.Stat(folder)
	switch {
	case err != nil:
		return refusedErrorf("the folder %s cannot be read: %v", folder, unwrapped(err))
	case !info.IsDir():
		return withHint(usageErrorf("%s is no folder", folder), "gristmark measure takes photos")
	}
	in, to := realPath(folder), realPath(out)
	if within(to, in) {
		return withHint(usageErrorf("--out %s lies in the folder of the photos, where nothing is written", out), "choose a folder beside it")
	}
	for _, ours := range []string{"documents", "overlays", "report", "plots", "sheets", ".gristmark"} {
		if within(in, filepath.Join(to, ours)) {
			return usageErrorf("the photos lie where results go, in %s of --out; choose another folder", ours)
		}
	}
	return nil
}

// realPath follows links as far as the path exists.
func realPath(path string) string {
	abs, err := filepath.Abs(path)
	if err != nil {
		return path
	}
	if real, err := filepath.EvalSymlinks(abs); err == nil {
		return real
	}
	if parent := filepath.Dir(abs); parent != abs {
		return filepath.Join(realPath(parent), filepath.Base(abs))
	}
	return abs
}

func within(path, folder string) bool {
	rel, err := filepath.Rel(folder, path)
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}

func (b *batchJob) photoDone(sample int, f *pipeline.Frame, again bool) {
	b.progress.photo(f.Photo, again)
}

// sampleDone writes a sample's document and overlays and keeps its rows.
func (b *batchJob) sampleDone(i int, o *pipeline.Outcome) error {
	name := b.samples[i].Name
	document := filepath.Join("documents", filepath.FromSlash(documentName(name))+".json")
	data, err := documentJSON(o.Document, b.outlines)
	if err != nil {
		return err
	}
	if err := b.write(document, data); err != nil {
		return err
	}
	rows := []report.Row{{Sample: name, Photos: thin(o.Document.Photos), Estimate: o.Document.Sample, Document: filepath.ToSlash(document)}}
	for k, photo := range o.Document.Photos {
		overlay, err := b.overlay(o, k)
		if err != nil {
			return err
		}
		photo = thin([]result.Photo{photo})[0]
		rows = append(rows, report.Row{Sample: name, Photo: &photo, Overlay: overlay})
	}
	var line bytes.Buffer
	if b.json {
		if err := json.Compact(&line, data); err != nil {
			return err
		}
		line.WriteByte('\n')
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.rows[i], b.documents[i] = rows, line.Bytes()
	if o.Uncorrected != nil {
		b.uncorrected++
	}
	return nil
}

// documentName of a sample; that of the photos directly in the folder cannot meet one of a sub-folder.
func documentName(sample string) string {
	if top, ok := strings.CutSuffix(sample, "/."); ok {
		return top + ".top"
	}
	return sample
}

// thin drops what the tables do not need, so that memory does not grow with the outlines.
func thin(photos []result.Photo) []result.Photo {
	out := make([]result.Photo, len(photos))
	for i, p := range photos {
		particles := make([]result.Particle, len(p.Particles))
		for k, q := range p.Particles {
			particles[k] = result.Particle{Class: q.Class}
		}
		p.Particles, p.Field = particles, nil
		out[i] = p
	}
	return out
}

// overlay draws and writes the overlay of photo k of a sample, and returns its path within the results.
func (b *batchJob) overlay(o *pipeline.Outcome, k int) (string, error) {
	photo := o.Document.Photos[k]
	if !b.opt.Picture || !o.Frames[k].HasPicture {
		return "", nil
	}
	data, err := overlayJPEG(o, k, b.store.Picture(photo.SHA256, b.opt), b.words)
	if err != nil || data == nil {
		return "", err
	}
	path := filepath.Join("overlays", filepath.FromSlash(photo.File)+".overlay.jpg")
	return filepath.ToSlash(path), b.write(path, data)
}

func (b *batchJob) write(path string, data []byte) error {
	path = filepath.Join(b.out, path)
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return err
	}
	return pipeline.WriteFile(path, data)
}

func (b *batchJob) writeTables() error {
	rows := b.allRows()
	for name, write := range map[string]func(io.Writer, []report.Row) error{"results.csv": report.WriteResults, "refused.csv": report.WriteRefused} {
		var buf bytes.Buffer
		if err := write(&buf, rows); err != nil {
			return err
		}
		if err := b.write(name, buf.Bytes()); err != nil {
			return err
		}
	}
	if err := b.writeParticles(); err != nil {
		return err
	}
	return b.writeReport()
}

// tell prints the documents or a table of the samples, and returns what was refused.
func (b *batchJob) tell(c *cli.Context) error {
	var lines []report.SampleLine
	refused, all := 0, 0
	for i, rows := range b.rows {
		line := report.SampleLine{Name: b.samples[i].Name, Sample: rows[0].Estimate}
		for _, p := range rows[0].Photos {
			all++
			line.Photos++
			if p.Status == result.Refused {
				refused++
				line.Refused++
			}
		}
		lines = append(lines, line)
		if b.json {
			if _, err := c.App.Writer.Write(b.documents[i]); err != nil {
				return err
			}
		}
	}
	if !b.json {
		if err := report.Samples(c.App.Writer, lines, paintFor(c)); err != nil {
			return err
		}
		fmt.Fprintf(c.App.Writer, "\n%s\n", b.words.T("results: %s", filepath.Join(b.out, "results.csv")))
		if b.report {
			fmt.Fprintln(c.App.Writer, b.words.T("report: %s", filepath.Join(b.out, "report", "index.html")))
		}
	}
	if refused > 0 {
		return withHint(refusedErrorf("%d of %d photos were refused", refused, all), "their reasons are in "+filepath.Join(b.out, "refused.csv"))
	}
	if b.uncorrected > 0 {
		return withHint(refusedErrorf("the correction does not speak of %d of %d samples; they stand as from outlines", b.uncorrected, len(b.samples)), "the notes of their documents say why")
	}
	return nil
}
