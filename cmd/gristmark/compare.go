package main

import (
	"bytes"
	"cmp"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/internal/compare"
	"gristmark/internal/pipeline"
	"gristmark/internal/result"
	"gristmark/internal/sieve"
)

func init() { register(compareCommand) }

func compareCommand() *cli.Command {
	return &cli.Command{
		Name:      "compare",
		Usage:     "say whether two samples differ, and by how much",
		ArgsUsage: "A B",
		Description: "A and B are measurement documents (measure --json), folders of photos of one sample, or sieve files\n" +
			"with repeated shakes. The difference is B less A. Photos of separate spreads, and shakes, are the\n" +
			"units: it takes two on each side for a verdict. --paired takes them in order as pairs. The options of\n" +
			"measure apply to photos in folders.",
		Flags: append([]cli.Flag{
			&cli.BoolFlag{Name: "paired", Usage: "photos or shakes belong together in pairs, in order"},
			&cli.StringFlag{Name: "label-a", Usage: "what to call A"},
			&cli.StringFlag{Name: "label-b", Usage: "what to call B"},
			&cli.Uint64Flag{Name: "seed", Value: 1, Usage: "of the resampling; the same seed gives the same numbers"},
			&cli.StringFlag{Name: "box", Value: sieve.Boxes()[0], Usage: "what top, middle and lower stand for in sieve files"},
			&cli.BoolFlag{Name: "json", Usage: "print the comparison document, and nothing else"},
		}, photoFlags()...),
		Action: runCompare,
	}
}

func runCompare(c *cli.Context) error {
	if c.NArg() != 2 {
		return withHint(usageErrorf("compare takes two samples, but got %d", c.NArg()), "gristmark compare before.json after.json")
	}
	a, refusedA, err := readSide(c, c.Args().Get(0), c.String("label-a"))
	if err != nil {
		return err
	}
	b, refusedB, err := readSide(c, c.Args().Get(1), c.String("label-b"))
	if err != nil {
		return err
	}
	doc, err := compare.Compare(a, b, compare.Options{Paired: c.Bool("paired"), Seed: c.Uint64("seed")})
	if err != nil {
		return refusedError(err.Error())
	}
	doc.Version = programVersion()
	if c.Bool("json") {
		err = writeJSON(c.App.Writer, doc)
	} else {
		err = doc.WriteText(c.App.Writer, wordsOf(c))
	}
	return cmp.Or(err, refusedA, refusedB)
}

// maxDocumentBytes bounds a measurement document: outlines of some thousand pieces take a few MB.
const maxDocumentBytes = 256 << 20

// readSide reads one sample: a folder of photos, a measurement document or a sieve file. refused says that some photos of a folder
// were refused while the sample stands.
func readSide(c *cli.Context, name, label string) (side compare.Side, refused, err error) {
	if label == "" {
		label = filepath.Base(filepath.Clean(name))
	}
	info, err := os.Stat(name)
	if err != nil {
		return side, nil, refusedErrorf("the sample cannot be read: %v", err)
	}
	if info.IsDir() {
		return folderSide(c, name, label)
	}
	data, err := readLimited(name, maxDocumentBytes)
	if err != nil {
		return side, nil, err
	}
	if looksLikeJSON(data) {
		doc, err := parseDocument(name, data)
		if err != nil {
			return side, nil, err
		}
		side, err = refuseSide(compare.FromDocument(doc, label))
		return side, nil, err
	}
	w, err := sieve.Parse(data, sieve.Options{Box: c.String("box")})
	if err != nil {
		return side, nil, refusedErrorf("%s: %v", name, err)
	}
	side, err = refuseSide(compare.FromWeighing(w, label))
	return side, nil, err
}

var byteOrderMark = []byte("\xEF\xBB\xBF")

func looksLikeJSON(data []byte) bool {
	return bytes.HasPrefix(bytes.TrimSpace(bytes.TrimPrefix(data, byteOrderMark)), []byte("{"))
}

// folderSide measures the photos that lie directly in a folder as one sample.
func folderSide(c *cli.Context, name, label string) (side compare.Side, refused, err error) {
	opt, err := photoOptions(c)
	if err != nil {
		return side, nil, err
	}
	files, err := folderPhotos(name)
	if err != nil {
		return side, nil, err
	}
	outcome, err := pipeline.Default(programVersion()).Run(c.Context, files, opt)
	if err != nil {
		return side, nil, interrupted(c.Context, err)
	}
	sayRefused(c, outcome.Document.Photos)
	side, err = refuseSide(compare.FromDocument(&outcome.Document, label))
	return side, refusedPhotos(outcome), err
}

func folderPhotos(name string) ([]string, error) {
	batches, err := pipeline.Samples(name, pipeline.ByFolder)
	if err != nil {
		return nil, refusedErrorf("%s cannot be read: %v", name, err)
	}
	var files []string
	for _, b := range batches {
		for _, p := range b.Photos {
			if !strings.Contains(p, "/") {
				files = append(files, filepath.Join(name, p))
			}
		}
	}
	if len(files) == 0 {
		return nil, withHint(refusedErrorf("%s holds no photo", name), "a folder is one sample, its photos directly in it")
	}
	return files, nil
}

func refuseSide(s compare.Side, err error) (compare.Side, error) {
	if err != nil {
		return s, refusedError(err.Error())
	}
	return s, nil
}

// parseDocument reads a measurement document.
func parseDocument(name string, data []byte) (*result.Document, error) {
	var doc result.Document
	if err := json.Unmarshal(bytes.TrimPrefix(data, byteOrderMark), &doc); err != nil {
		return nil, refusedErrorf("%s is no measurement document: %v", name, err)
	}
	if doc.Schema != result.Schema {
		hint := "gristmark measure --json writes measurement documents"
		if strings.HasPrefix(doc.Schema, "gristmark.sieve/") {
			hint = "give the table of fractions itself, not the document made of it"
		}
		return nil, withHint(refusedErrorf("%s has the schema %q, not %s", name, doc.Schema, result.Schema), hint)
	}
	return &doc, nil
}
