package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/internal/compare"
	"gristmark/internal/result"
	"gristmark/internal/sieve"
)

func init() { register(compareCommand) }

// measureFolder measures the photos of a folder as one sample; compare calls it for an argument that is a folder.
var measureFolder func(dir string) (*result.Document, error)

func compareCommand() *cli.Command {
	return &cli.Command{
		Name:      "compare",
		Usage:     "say whether two samples differ, and by how much",
		ArgsUsage: "A B",
		Description: "A and B are measurement documents (measure --json), folders of photos of one sample, or sieve files\n" +
			"with repeated shakes. The difference is B less A. Photos of separate spreads, and shakes, are the\n" +
			"units: it takes two on each side for a verdict. --paired takes them in order as pairs.",
		Flags: []cli.Flag{
			&cli.BoolFlag{Name: "paired", Usage: "photos or shakes belong together in pairs, in order"},
			&cli.StringFlag{Name: "label-a", Usage: "what to call A"},
			&cli.StringFlag{Name: "label-b", Usage: "what to call B"},
			&cli.Uint64Flag{Name: "seed", Value: 1, Usage: "of the resampling; the same seed gives the same numbers"},
			&cli.StringFlag{Name: "box", Value: sieve.Boxes()[0], Usage: "what top, middle and lower stand for in sieve files"},
			&cli.BoolFlag{Name: "json", Usage: "print the comparison document, and nothing else"},
		},
		Action: runCompare,
	}
}

func runCompare(c *cli.Context) error {
	if c.NArg() != 2 {
		return withHint(usageErrorf("compare takes two samples, but got %d", c.NArg()), "gristmark compare before.json after.json")
	}
	a, err := readSide(c, c.Args().Get(0), c.String("label-a"))
	if err != nil {
		return err
	}
	b, err := readSide(c, c.Args().Get(1), c.String("label-b"))
	if err != nil {
		return err
	}
	doc, err := compare.Compare(a, b, compare.Options{Paired: c.Bool("paired"), Seed: c.Uint64("seed")})
	if err != nil {
		return refusedError(err.Error())
	}
	doc.Version = programVersion()
	if c.Bool("json") {
		return writeJSON(c.App.Writer, doc)
	}
	return doc.WriteText(c.App.Writer)
}

// maxDocumentBytes bounds a measurement document: outlines of some thousand pieces take a few MB.
const maxDocumentBytes = 256 << 20

// readSide reads one sample: a folder of photos, a measurement document or a sieve file.
func readSide(c *cli.Context, name, label string) (compare.Side, error) {
	if label == "" {
		label = filepath.Base(filepath.Clean(name))
	}
	info, err := os.Stat(name)
	if err != nil {
		return compare.Side{}, refusedErrorf("the sample cannot be read: %v", err)
	}
	if info.IsDir() {
		return folderSide(name, label)
	}
	data, err := readLimited(name, maxDocumentBytes)
	if err != nil {
		return compare.Side{}, err
	}
	if bytes.HasPrefix(bytes.TrimSpace(bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF"))), []byte("{")) {
		doc, err := parseDocument(name, data)
		if err != nil {
			return compare.Side{}, err
		}
		return refuseSide(compare.FromDocument(doc, label))
	}
	w, err := sieve.Parse(data, sieve.Options{Box: c.String("box")})
	if err != nil {
		return compare.Side{}, refusedErrorf("%s: %v", name, err)
	}
	return refuseSide(compare.FromWeighing(w, label))
}

func folderSide(name, label string) (compare.Side, error) {
	if measureFolder == nil {
		return compare.Side{}, usageErrorf("%s is a folder; measure its photos with gristmark measure --json first", name)
	}
	doc, err := measureFolder(name)
	if err != nil {
		return compare.Side{}, err
	}
	return refuseSide(compare.FromDocument(doc, label))
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
	if err := json.Unmarshal(bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF")), &doc); err != nil {
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
