package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/internal/advice"
	"gristmark/internal/sieve"
	"gristmark/internal/weigh"
)

func init() { register(sieveCommand) }

func sieveCommand() *cli.Command {
	return &cli.Command{
		Name:      "sieve",
		Usage:     "compute from weighed sieve fractions",
		ArgsUsage: "FILE",
		Description: "FILE is a CSV or XLSX with a header and a row for each fraction, coarse to fine, the pan last:\n\n" +
			"    sieve,mass_g\n    top,12\n    middle,340\n    lower,120\n    pan,28\n\n" +
			"sieve     top, middle, lower, pan, or the opening in mm (or µm, in)\n" +
			"mass_g    net mass; also mass_kg, mass_mg, mass_oz, mass_lb, or a unit in the cell\n" +
			"share_pct in place of mass_g, where only shares are known\n" +
			"More columns: tare_g (taken off the mass), dry_g or dm_pct, put_in_g (also a row named put in),\n" +
			"shake (names repeated shakes of one sample: only those give intervals), diagonal_mm (of square\n" +
			"openings), whole_kernels and large_pieces (half a kernel and more) with counted_g, the mass they\n" +
			"were counted in. A row named total is checked against the sum. Decimal commas need ; between cells.",
		Flags: sieveFlags(), Action: runSieve,
	}
}

func sieveFlags() []cli.Flag {
	return append([]cli.Flag{
		&cli.StringFlag{Name: "mass", Usage: "fractions typed in place of a file: `LIST` such as top=12,middle=340,lower=120,pan=28"},
		&cli.StringFlag{Name: "box", Value: sieve.Boxes()[0], Usage: "what top, middle and lower stand for: " + strings.Join(sieve.Boxes(), " or ")},
		&cli.Float64Flag{Name: "put-in", DefaultText: "not known", Usage: "mass put in, `GRAMS`"},
		&cli.Float64Flag{Name: "put-in-dm", DefaultText: "not known", Usage: "dry matter of what was put in, `PERCENT`, for a dry recovery"},
		&cli.Float64Flag{Name: "loss-limit", Value: sieve.DefaultLossLimitPct, Usage: "loss or gain that is still trusted, `PERCENT`"},
		&cli.Float64Flag{Name: "top-length", DefaultText: "not known", Usage: "mean length on the top sieve, `MM`; else assumed, and said"},
		&cli.Float64Flag{Name: "ndf", DefaultText: "not known", Usage: "NDF in `PERCENT` of dry matter, for physically effective NDF"},
		&cli.StringFlag{Name: "material", Value: "maize-silage", Usage: "`MATERIAL`: maize-silage, haylage or mixed-ration"},
		&cli.StringFlag{Name: "targets", Usage: "target `FILE` in place of the built-in sets"},
		&cli.StringFlag{Name: "set", Usage: "`NAME` of the target set; gristmark targets lists them"},
		&cli.StringFlag{Name: "plot", Usage: "draw the cumulative undersize into `FILE`, ending in .png or .svg"},
		&cli.BoolFlag{Name: "json", Usage: "print the sieve document, and nothing else"},
	}, contextFlags()...)
}

// contextFlags tell of machine and crop; contextOptions reads them.
func contextFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringFlag{Name: "process", Usage: "`PROCESS` of the harvester: conventional, shredding or unprocessed"},
		&cli.StringFlag{Name: "state", Usage: "`STATE` of the crop: fresh or fermented"},
		&cli.Float64Flag{Name: "dm", DefaultText: "not known", Usage: "dry matter of the crop, `PERCENT`"},
		&cli.Float64Flag{Name: "tloc", DefaultText: "not known", Usage: "theoretical length of cut, `MM`"},
		&cli.Float64Flag{Name: "gap", DefaultText: "not known", Usage: "roll gap, `MM`"},
		&cli.Float64Flag{Name: "speed-diff", DefaultText: "not known", Usage: "speed difference of the rolls, `PERCENT`"},
		&cli.Float64Flag{Name: "knife-hours", DefaultText: "not known", Usage: "`HOURS` of cutting since the knives were sharpened"},
		&cli.Float64Flag{Name: "throughput", DefaultText: "not known", Usage: "fresh chop in tonnes per `HOUR`"},
	}
}

func runSieve(c *cli.Context) error {
	w, name, err := readWeighing(c)
	if err != nil {
		return err
	}
	doc, err := buildSieve(c, w, name)
	if err != nil {
		return err
	}
	if err := plotSieve(c, doc); err != nil {
		return err
	}
	if c.Bool("json") {
		err = writeJSON(c.App.Writer, doc)
	} else {
		err = doc.WriteText(c.App.Writer, wordsOf(c))
	}
	if err == nil && doc.Refused != nil {
		err = refusedError(*doc.Refused)
	}
	return err
}

// readWeighing reads the file named, or --mass.
func readWeighing(c *cli.Context) (sieve.Weighing, string, error) {
	opt := sieve.Options{Box: c.String("box"), PutInG: floatIfSet(c, "put-in"), DMPct: floatIfSet(c, "dm")}
	typed, files := c.IsSet("mass"), c.Args().Slice()
	switch {
	case typed && len(files) > 0:
		return sieve.Weighing{}, "", usageError("give a file or --mass, not both")
	case !typed && len(files) != 1:
		return sieve.Weighing{}, "", withHint(usageErrorf("sieve takes one file, but got %d", len(files)), "gristmark sieve shake.csv, or --mass top=12,middle=340,lower=120,pan=28")
	case typed:
		w, err := sieve.ParseTyped(c.String("mass"), opt)
		if err != nil {
			err = refusedError(err.Error())
		}
		return w, "", err
	}
	w, err := readSieveFile(files[0], opt)
	return w, files[0], err
}

// readSieveFile reads one table; a fault of the table is a refusal.
func readSieveFile(name string, opt sieve.Options) (sieve.Weighing, error) {
	data, err := readLimited(name, sieve.MaxFileBytes)
	if err != nil {
		return sieve.Weighing{}, err
	}
	w, err := sieve.Parse(data, opt)
	if err != nil {
		return sieve.Weighing{}, refusedErrorf("%s: %v", name, err)
	}
	return w, nil
}

// readLimited reads a file of at most limit bytes; what cannot be read is refused.
func readLimited(name string, limit int64) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, refusedErrorf("the file cannot be read: %v", err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, limit+1))
	if err != nil {
		return nil, refusedErrorf("%s cannot be read: %v", name, err)
	}
	if int64(len(data)) > limit {
		return nil, refusedErrorf("%s is larger than %d MB", name, limit>>20)
	}
	return data, nil
}

func buildSieve(c *cli.Context, w sieve.Weighing, name string) (*weigh.Document, error) {
	ctx, err := contextOptions(c)
	if err != nil {
		return nil, err
	}
	catalogue, err := loadCatalogue(c.String("targets"))
	if err != nil {
		return nil, err
	}
	if limit := c.Float64("loss-limit"); !(limit > 0 && limit <= 100) {
		return nil, usageErrorf("--loss-limit %g: it must be more than 0 and at most 100 %%", limit)
	}
	if top := c.Float64("top-length"); c.IsSet("top-length") && !(top > 0 && top < 1000) {
		return nil, usageErrorf("--top-length %g: a length in mm is needed", top)
	}
	terms := sieve.Terms{TopLengthMM: floatIfSet(c, "top-length"), LossLimitPct: c.Float64("loss-limit"), PutInDMPct: floatIfSet(c, "put-in-dm"), NDFPct: floatIfSet(c, "ndf")}
	choice := weigh.Choice{Catalogue: catalogue, Set: c.String("set"), Material: c.String("material"), Process: ctx.Process}
	if err := knownChoice(choice); err != nil {
		return nil, err
	}
	doc, err := weigh.Build(w, terms, choice, ctx)
	if err != nil {
		return nil, refusedErrorf("%s", strings.TrimPrefix(name+": "+err.Error(), ": "))
	}
	doc.File, doc.Version = name, programVersion()
	return doc, nil
}

// knownChoice refuses a set or a material that the catalogue does not have.
func knownChoice(choice weigh.Choice) error {
	if choice.Set != "" {
		if _, err := choice.Catalogue.Find(choice.Set); err != nil {
			return usageError(err.Error())
		}
		return nil
	}
	if _, err := choice.Catalogue.Pick(choice.Material, "", ""); err != nil {
		return usageError(err.Error())
	}
	return nil
}

// loadCatalogue reads a target file, or gives the built-in sets for an empty name.
func loadCatalogue(file string) (advice.Catalogue, error) {
	if file == "" {
		return advice.Targets(), nil
	}
	data, err := readLimited(file, 4<<20)
	if err != nil {
		return advice.Catalogue{}, withHint(err, "gristmark targets --yaml prints the built-in sets, to start from")
	}
	catalogue, err := advice.LoadTargets(bytes.NewReader(data))
	if err != nil {
		return advice.Catalogue{}, refusedErrorf("%s: %v", file, err)
	}
	return catalogue, nil
}

func plotSieve(c *cli.Context, doc *weigh.Document) error {
	out := c.String("plot")
	if out == "" {
		return nil
	}
	format := strings.TrimPrefix(strings.ToLower(filepath.Ext(out)), ".")
	if format != "png" && format != "svg" {
		return usageErrorf("--plot %q: the file must end in .png or .svg", out)
	}
	say := wordsOf(c)
	title := say.T("Cumulative undersize")
	if doc.File != "" {
		title += ", " + filepath.Base(doc.File)
	}
	var b bytes.Buffer
	if err := doc.Plot(&b, format, title, doc.Band(), say); err != nil {
		return refusedError(err.Error())
	}
	if err := os.WriteFile(out, b.Bytes(), 0o644); err != nil {
		return err
	}
	_, err := fmt.Fprintln(c.App.ErrWriter, say.T("plot: %s", out))
	return err
}

// floatIfSet is the value of an option, nil where it was not given.
func floatIfSet(c *cli.Context, name string) *float64 {
	if !c.IsSet(name) {
		return nil
	}
	v := c.Float64(name)
	return &v
}

// writeJSON prints a document with a line break at its end.
func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	return enc.Encode(v)
}
