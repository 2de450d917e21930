package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/urfave/cli/v2"

	"gristmark/internal/harvest"
	"gristmark/internal/report"
	"gristmark/internal/result"
)

func init() { register(logCommand) }

func logCommand() *cli.Command {
	flags := func(more ...cli.Flag) []cli.Flag {
		return append(append(logFlags(), &cli.StringFlag{Name: "account", Usage: "act as the account `NAME`; without it as the one made first"}), more...)
	}
	jsonFlag := &cli.BoolFlag{Name: "json", Usage: "print JSON, and nothing else"}
	return &cli.Command{
		Name:  "log",
		Usage: "list, show, export and delete what the harvest log holds",
		Description: "Works on the log in --data, whether a server runs on it or not, as an account of the log: whoever may\n" +
			"write its files needs no password. HARVEST is a number or a name, LOAD a number.",
		Subcommands: []*cli.Command{
			{Name: "list", Usage: "list harvests, or the loads of one", ArgsUsage: "[HARVEST]", Flags: flags(jsonFlag), Action: withDesk(0, 1, logList)},
			{Name: "show", Usage: "show a load: settings, photos, judgement", ArgsUsage: "LOAD", Flags: flags(jsonFlag), Action: withDesk(1, 1, logShow)},
			{Name: "export", Usage: "write a harvest's measurement documents, a line each", ArgsUsage: "HARVEST", Flags: flags(&cli.StringFlag{Name: "out", Usage: "write into `FILE`"}), Action: withDesk(1, 1, logExport)},
			{Name: "delete", Usage: "delete a load or a harvest with all its photos", ArgsUsage: "load NUMBER | harvest NUMBER", Flags: flags(&cli.BoolFlag{Name: "yes", Usage: "really delete; without it what would be deleted is said"}), Action: withDesk(2, 2, logDelete)},
		},
	}
}

// withDesk opens the log as its account for an action that takes so many arguments.
func withDesk(least, most int, do func(*cli.Context, *harvest.Desk) error) cli.ActionFunc {
	return func(c *cli.Context) (err error) {
		if n := c.NArg(); n < least || n > most {
			return usageErrorf("%s takes %s", c.Command.HelpName, takes(c.Command))
		}
		l, d, err := openDesk(c)
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, l.Close(c.Context)) }()
		return said(do(c, d))
	}
}

func takes(command *cli.Command) string {
	if command.ArgsUsage == "" {
		return "no argument"
	}
	return command.ArgsUsage
}

// openDesk opens the log that is there, as the account that --account names.
func openDesk(c *cli.Context) (*harvest.Log, *harvest.Desk, error) {
	place, err := logPlaceOf(c)
	if err != nil {
		return nil, nil, err
	}
	if err := place.exists(); err != nil {
		return nil, nil, err
	}
	l, err := openLog(c.Context, place, nil)
	if err != nil {
		return nil, nil, err
	}
	who, err := l.Account(c.Context, c.String("account"))
	if err == nil {
		return l, l.Desk(who), nil
	}
	if errors.Is(err, harvest.ErrNone) {
		err = withHint(refusedErrorf("the log in %s has no account %s", place.data, c.String("account")), "gristmark serve prints a link that makes the first one")
	}
	return nil, nil, errors.Join(said(err), l.Close(c.Context))
}

// harvestOf finds a harvest by number or name.
func harvestOf(c *cli.Context, d *harvest.Desk, text string) (harvest.Harvest, error) {
	all, err := d.Harvests(c.Context, 0)
	if err != nil {
		return harvest.Harvest{}, said(err)
	}
	var fits []harvest.Harvest
	for _, h := range all {
		if strconv.FormatInt(h.ID, 10) == text {
			return h, nil
		}
		if strings.EqualFold(h.Name, text) {
			fits = append(fits, h)
		}
	}
	switch len(fits) {
	case 0:
		return harvest.Harvest{}, withHint(refusedErrorf("there is no harvest %q in this log", text), "gristmark log list shows them")
	case 1:
		return fits[0], nil
	}
	return harvest.Harvest{}, withHint(refusedErrorf("%d harvests are called %q; give the number", len(fits), text), "gristmark log list shows them")
}

func logList(c *cli.Context, d *harvest.Desk) error {
	if c.NArg() == 1 {
		return logLoads(c, d)
	}
	all, err := d.Harvests(c.Context, 0)
	if err != nil {
		return err
	}
	if c.Bool("json") {
		return printJSON(c.App.Writer, all)
	}
	farms, err := d.Farms(c.Context)
	if err != nil {
		return err
	}
	names := map[int64]string{}
	for _, f := range farms {
		names[f.ID] = f.Name
	}
	w := tabwriter.NewWriter(c.App.Writer, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, wordsOf(c).T("number\tharvest\tfarm\tloads\tphotos"))
	for _, h := range all {
		fmt.Fprintf(w, "%d\t%s\t%s\t%d\t%d\n", h.ID, h.Name, names[h.FarmID], h.Loads, h.Photos)
	}
	return w.Flush()
}

func logLoads(c *cli.Context, d *harvest.Desk) error {
	h, err := harvestOf(c, d, c.Args().First())
	if err != nil {
		return err
	}
	loads, err := d.Loads(c.Context, h.ID, harvest.Filter{})
	if err != nil {
		return err
	}
	if c.Bool("json") {
		return printJSON(c.App.Writer, loads)
	}
	w := tabwriter.NewWriter(c.App.Writer, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, wordsOf(c).T("number\tload\tsampled\tfield\tpassing 4.75 mm\tverdict"))
	for _, l := range loads {
		fmt.Fprintf(w, "%d\t%s\t%s\t%s\t%s\t%s\n", l.ID, l.Name, l.At.Local().Format("2006-01-02 15:04"), l.Settings.Field, passingOf(c, l.Document), verdictOf(c, l.Document))
	}
	return w.Flush()
}

func passingOf(c *cli.Context, doc *result.Document) string {
	if doc == nil || doc.Sample == nil || doc.Sample.Kernels == nil || doc.Sample.Kernels.Passing475Pct == nil {
		return "-"
	}
	e := doc.Sample.Kernels.Passing475Pct
	return wordsOf(c).T("%.0f %% (%.0f to %.0f)", e.Value, e.Low, e.High)
}

func verdictOf(c *cli.Context, doc *result.Document) string {
	if doc == nil || doc.Sample == nil || doc.Sample.Verdict.Kernels == nil {
		return "-"
	}
	return wordsOf(c).T(strings.ReplaceAll(*doc.Sample.Verdict.Kernels, "_", " "))
}

func loadNumber(text string) (int64, error) {
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil || id < 1 {
		return 0, withHint(usageErrorf("%q is no number of a load", text), "gristmark log list HARVEST shows them")
	}
	return id, nil
}

func logShow(c *cli.Context, d *harvest.Desk) error {
	id, err := loadNumber(c.Args().First())
	if err != nil {
		return err
	}
	l, err := d.Load(c.Context, id)
	if err != nil {
		return err
	}
	if c.Bool("json") {
		return printJSON(c.App.Writer, l)
	}
	out := c.App.Writer
	w := wordsOf(c)
	fmt.Fprintln(out, w.T("load %d: %s, sampled %s, entered by %s", l.ID, l.Name, l.At.Local().Format("2006-01-02 15:04"), l.By))
	for _, p := range l.Photos {
		line := w.T("photo %s: %s", p.File, w.T(p.State))
		if p.Problem != "" {
			line += ": " + w.Say(p.Problem)
		}
		fmt.Fprintln(out, line)
	}
	if l.Document == nil || l.Document.Sample == nil {
		fmt.Fprintln(out, w.T("nothing is measured yet"))
		return nil
	}
	opt, _ := settingsOptions(l.Settings, "")
	fmt.Fprintln(out)
	return report.Summary(out, named(*l.Document, l.Photos), opt.Show, opt.Targets, paintFor(c))
}

// named is the document with the photos under the names of their files in place of the log's.
func named(doc result.Document, photos []harvest.Photo) result.Document {
	var names []string
	for _, p := range photos {
		names = append(names, p.ID, p.File)
	}
	rename := strings.NewReplacer(names...)
	doc.Photos = slices.Clone(doc.Photos)
	for i := range doc.Photos {
		p := &doc.Photos[i]
		p.File, p.SameSpreadAs, p.DuplicateOf = rename.Replace(p.File), rename.Replace(p.SameSpreadAs), rename.Replace(p.DuplicateOf)
	}
	if doc.Sample != nil {
		s := *doc.Sample
		s.Notes = slices.Clone(s.Notes)
		for i := range s.Notes {
			s.Notes[i] = rename.Replace(s.Notes[i])
		}
		doc.Sample = &s
	}
	return doc
}

func logExport(c *cli.Context, d *harvest.Desk) error {
	h, err := harvestOf(c, d, c.Args().First())
	if err != nil {
		return err
	}
	loads, err := d.Loads(c.Context, h.ID, harvest.Filter{WithParticles: true, WithPhotos: true})
	if err != nil {
		return err
	}
	var text strings.Builder
	for _, l := range loads {
		if l.Document == nil {
			continue
		}
		line, err := json.Marshal(named(*l.Document, l.Photos))
		if err != nil {
			return err
		}
		text.Write(append(line, '\n'))
	}
	if file := c.String("out"); file != "" {
		return writeWhole(file, []byte(text.String()))
	}
	_, err = io.WriteString(c.App.Writer, text.String())
	return err
}

func logDelete(c *cli.Context, d *harvest.Desk) error {
	id, err := loadNumber(c.Args().Get(1))
	if err != nil {
		return usageErrorf("%q is no number", c.Args().Get(1))
	}
	var what string
	var drop func() error
	switch kind := c.Args().First(); kind {
	case "load":
		l, err := d.Load(c.Context, id)
		if err != nil {
			return err
		}
		what, drop = fmt.Sprintf("load %d, %s, with %d photo(s)", id, l.Name, len(l.Photos)), func() error { return d.DropLoad(c.Context, id) }
	case "harvest":
		h, err := d.Harvest(c.Context, id)
		if err != nil {
			return err
		}
		what, drop = fmt.Sprintf("harvest %d, %s, with %d load(s) and %d photo(s)", id, h.Name, h.Loads, h.Photos), func() error { return d.DropHarvest(c.Context, id) }
	default:
		return usageErrorf("%q can not be deleted; say load or harvest", kind)
	}
	if !c.Bool("yes") {
		return withHint(refusedErrorf("this would delete %s, for good", what), "add --yes to do it; gristmark backup keeps a copy")
	}
	if err := drop(); err != nil {
		return err
	}
	fmt.Fprintln(c.App.ErrWriter, wordsOf(c).T("deleted %s", what))
	return nil
}

func printJSON(w io.Writer, v any) error {
	data, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(data, '\n'))
	return err
}
