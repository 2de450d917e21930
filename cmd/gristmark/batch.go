package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/gofrs/flock"
	"github.com/urfave/cli/v2"

	"gristmark/calib"
	"gristmark/internal/pipeline"
	"gristmark/internal/report/paper"
	"gristmark/internal/words"
)

func init() { register(batchCommand) }

func batchCommand() *cli.Command {
	return &cli.Command{
		Name:      "batch",
		Usage:     "score a folder of photos, many samples",
		ArgsUsage: "FOLDER --out DIR",
		Description: "The photos of each sub-folder are one sample, and so are those directly in FOLDER; --group, --samples and\n" +
			"--pattern change that. A harvest.csv in FOLDER tells field, hybrid, dry matter and the machine's settings of each load.\n" +
			"DIR gets results.csv (one row a photo and one a sample, told apart by the column\n" +
			"\"row\"), refused.csv, particles.csv and particles.parquet (one row a particle), results.xlsx (a sheet a table),\n" +
			"documents/ (a measurement document a sample), overlays/, report/ (open report/index.html in a browser), and .gristmark/, which holds what was measured: the\n" +
			"same command goes on where it was cut off. Nothing is written into FOLDER.",
		Flags: append(append(append(batchLogFlags(), slices.DeleteFunc(photoFlags(), isWorkers)...),
			&cli.IntFlag{Name: "workers", Value: pipeline.BatchWorkers(), Usage: "`N` photos at once, up to 600 MB each; results do not depend on it"},
			&cli.StringFlag{Name: "out", Usage: "write the results into `DIR`, outside FOLDER"},
		), append(sampleFlags(),
			&cli.BoolFlag{Name: "outlines", Usage: "add the outline of each particle to the documents"},
			&cli.BoolFlag{Name: "no-overlays", Usage: "draw no overlays"},
			&cli.BoolFlag{Name: "no-report", Usage: "write no report folder"},
			&cli.StringFlag{Name: "pdf", Usage: "write season.pdf, and sheets/ with a page a sample for the operator, on `PAPER`: a4 or letter"},
			&cli.StringFlag{Name: "plots", Usage: "write the charts into plots/ as files of `FORMAT`: png, svg or both"},
			&cli.BoolFlag{Name: "json", Usage: "print the measurement documents, a line each, and nothing else"},
			&cli.BoolFlag{Name: "watch", Usage: "go on measuring what is put into FOLDER, until Ctrl-C"},
			&cli.DurationFlag{Name: "settle", Value: 3 * time.Second, Usage: "with --watch, take a file once it has stayed the same for `TIME`"},
		)...),
		Action: runBatch,
	}
}

// isWorkers finds the option whose default of batch is another.
func isWorkers(f cli.Flag) bool { return f.Names()[0] == "workers" }

func runBatch(c *cli.Context) error {
	b, err := newBatchJob(c)
	if err != nil {
		return err
	}
	if c.Bool("watch") {
		return b.watch(c)
	}
	if err := b.gather(c, nil); err != nil {
		return err
	}
	if len(b.samples) == 0 {
		return b.nothing()
	}
	release, err := b.claim()
	if err != nil {
		return err
	}
	defer release()
	if err := b.measure(c, b.samples, b.opts); err != nil {
		if c.Context.Err() != nil {
			return withHint(interrupted(c.Context, err), "the same command goes on where this one stopped")
		}
		return err
	}
	if err := b.writeTables(); err != nil {
		return err
	}
	if err := b.tell(c); err != nil {
		return err
	}
	if err := b.toLog(c); err != nil {
		return err
	}
	return b.outcome()
}

// nothing says why there is nothing to measure.
func (b *batchJob) nothing() error {
	if b.tally.someLeft {
		return withHint(refusedErrorf("no photo in %s belongs to a sample", b.folder), "check the pattern or the table against the names of the files")
	}
	return refusedErrorf("there are no photos in %s", b.folder)
}

// batchJob is a folder being scored.
type batchJob struct {
	folder, out string
	plan        samplePlan
	opt         pipeline.Options // of the command line
	store       pipeline.Store
	outlines    bool
	json        bool
	report      bool
	pdf         string       // a4, letter, or empty for none
	plots       string       // png, svg, both, or empty for none
	words       *words.Words // language and units of what people read

	samples []pipeline.Batch
	opts    []pipeline.Options // of each sample

	mu          sync.Mutex
	done        map[string]bool  // samples with a document of this run
	uncorrected map[string]bool  // samples that the correction does not speak of
	failed      map[string]error // photos on which the program failed
	tally       tally
	tableFault  error // why the tables of samples or loads could not be read the last time, while watching
}

func newBatchJob(c *cli.Context) (*batchJob, error) {
	opt, err := photoOptions(c)
	if err != nil {
		return nil, err
	}
	opt.Picture = !c.Bool("no-overlays")
	if c.NArg() != 1 {
		return nil, withHint(usageErrorf("batch takes one folder, not %d", c.NArg()), "gristmark batch photos --out results")
	}
	b := &batchJob{folder: c.Args().First(), out: c.String("out"), opt: opt, words: wordsOf(c), outlines: c.Bool("outlines"), json: c.Bool("json"), report: !c.Bool("no-report"), plots: c.String("plots"), pdf: strings.ToLower(c.String("pdf")),
		done: map[string]bool{}, uncorrected: map[string]bool{}, failed: map[string]error{}}
	if b.out == "" {
		return nil, withHint(usageError("batch needs --out DIR, a folder for the results"), "gristmark batch "+b.folder+" --out results")
	}
	if err := checkFolders(b.folder, b.out); err != nil {
		return nil, err
	}
	if b.pdf != "" && !slices.Contains(paper.Sizes, b.pdf) {
		return nil, usageErrorf("--pdf %q: choose %s", b.pdf, strings.Join(paper.Sizes, " or "))
	}
	switch b.plots {
	case "", "png", "svg", "both":
	default:
		return nil, usageErrorf("--plots %q: choose png, svg or both", b.plots)
	}
	if c.Duration("settle") < 0 || c.Duration("settle") > time.Hour {
		return nil, usageErrorf("--settle %s: it takes 0s to 1h", c.Duration("settle"))
	}
	if c.IsSet("settle") && !c.Bool("watch") {
		return nil, usageError("--settle goes with --watch")
	}
	if b.plan, err = newSamplePlan(c, b.folder); err != nil {
		return nil, err
	}
	b.store = pipeline.Store{Dir: filepath.Join(b.out, ".gristmark"), Version: buildID()}
	calib.SetNumThreads(1) // the processors are busy with a photo each
	return b, nil
}

// claim keeps other runs out of the results' folder and clears away what a killed one left half written there.
func (b *batchJob) claim() (release func(), err error) {
	if err := os.MkdirAll(b.store.Dir, 0o777); err != nil {
		return nil, err
	}
	lock := flock.New(filepath.Join(b.store.Dir, "lock"))
	ours, err := lock.TryLock()
	if err != nil {
		return nil, fmt.Errorf("the results' folder cannot be kept for this run: %w", err)
	}
	if !ours {
		return nil, withHint(fmt.Errorf("another gristmark batch is at work in %s", b.out), "wait until it has ended, or choose another --out")
	}
	return func() { _ = lock.Unlock() }, pipeline.RemoveHalfWritten(b.out)
}

// measure measures samples; those that were complete when it stopped early are done.
func (b *batchJob) measure(c *cli.Context, samples []pipeline.Batch, opts []pipeline.Options) error {
	photos := 0
	for _, s := range samples {
		photos += len(s.Photos)
	}
	p := newProgress(c.App.ErrWriter, photos, b.words)
	p.start()
	defer p.stop()
	if err := b.announce(); err != nil {
		return err
	}
	w := pipeline.Work{Folder: b.folder, Samples: samples, Store: b.store, Options: b.opt,
		For:   func(i int) pipeline.Options { return opts[i] },
		Photo: func(_ int, f *pipeline.Frame, again bool) { p.photo(f.Photo, again) },
	}
	w.Sample = func(i int, o *pipeline.Outcome) error { return b.sampleDone(samples[i].Name, opts[i], o) }
	w.Fault = func(photo string, err error) {
		b.failed[photo] = err
		fmt.Fprintf(complaints(c), "gristmark: %v\n", err)
	}
	return pipeline.Default(programVersion()).Batch(c.Context, w)
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
