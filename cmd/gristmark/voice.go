package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/urfave/cli/v2"

	"gristmark/internal/words"
)

// voice is how the program speaks in this run: language and units, and how much it says beside its results.
type voice struct {
	words      *words.Words
	complaints io.Writer // for what went wrong, however quiet
	verbose    bool
	started    time.Time
}

const voiceKey = "voice"

// globalFlags are the options of every command; they may stand anywhere on the line.
func globalFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringFlag{Name: "lang", Usage: "speak `LANGUAGE`: " + strings.Join(words.Languages(), " or ") + "; else as LC_ALL, LC_MESSAGES or LANG say"},
		&cli.StringFlag{Name: "units", Value: words.Metric.String(), Usage: "`UNITS` of what people read: " + strings.Join(words.UnitNames(), " or ") + "; options, CSV and JSON stay metric"},
		&cli.BoolFlag{Name: "quiet", Usage: "say nothing beside the results but what went wrong"},
		&cli.BoolFlag{Name: "verbose", Usage: "also say what is used and how long it took"},
	}
}

// firstVoice is that of the environment, for what goes wrong before the options are read.
func firstVoice(stderr io.Writer) *voice {
	return &voice{words: words.FromEnvironment(os.Getenv), complaints: stderr, started: time.Now()}
}

// setVoice reads the options of every command.
func setVoice(c *cli.Context) error {
	v := voiceOf(c)
	if lang := c.String("lang"); c.IsSet("lang") {
		w, err := words.For(lang)
		if err != nil || lang == "" {
			return usageErrorf("--lang %q: choose %s", lang, strings.Join(words.Languages(), " or "))
		}
		v.words = w
	}
	units, err := words.ParseUnits(c.String("units"))
	if err != nil || c.String("units") == "" {
		return usageErrorf("--units %q: choose %s", c.String("units"), strings.Join(words.UnitNames(), " or "))
	}
	v.words = v.words.With(units)
	if c.Bool("quiet") && c.Bool("verbose") {
		return usageError("--quiet and --verbose cannot both be given")
	}
	if c.Bool("quiet") {
		c.App.ErrWriter = io.Discard
	}
	v.verbose = c.Bool("verbose")
	sayMore(c, "gristmark %s, language %s, units %s", programVersion(), v.words.Lang(), units)
	return nil
}

// sayTime ends what --verbose says.
func sayTime(c *cli.Context) error {
	sayMore(c, "took %.1f s", time.Since(voiceOf(c).started).Seconds())
	return nil
}

func voiceOf(c *cli.Context) *voice { return c.App.Metadata[voiceKey].(*voice) }

// wordsOf are the language and the units of this run.
func wordsOf(c *cli.Context) *words.Words { return voiceOf(c).words }

// complaints is where what went wrong is told, even with --quiet.
func complaints(c *cli.Context) io.Writer { return voiceOf(c).complaints }

// sayMore tells a line with --verbose.
func sayMore(c *cli.Context, format string, args ...any) {
	if v := voiceOf(c); v.verbose {
		fmt.Fprintln(c.App.ErrWriter, "gristmark: "+v.words.T(format, args...))
	}
}

// helpOnGlobals is what the help of a command adds about the options of every command.
func helpOnGlobals() string {
	var b strings.Builder
	b.WriteString("\nOPTIONS OF EVERY COMMAND:\n")
	for _, f := range globalFlags() {
		plainDefault(f)
		name, usage, _ := strings.Cut(f.String(), "\t")
		fmt.Fprintf(&b, "   %-16s %s\n", name, usage)
	}
	return b.String()
}
