// Command gristmark turns photos of chopped whole-plant maize on a tray into numbers that an
// adviser acts on while the harvester is still in the field.
//
// Exit status: 0 all done; 1 a fault of the program or the machine; 2 wrong usage; 3 at least one
// input was refused with its reason, the others still reported. Messages for people go to standard
// error.
package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"sort"
	"syscall"

	"github.com/urfave/cli/v2"

	"gristmark/internal/pages"
)

// garbagePct is how much garbage may pile up on what lives before it is collected, unless the environment's GOGC says: with three quarters a photo of 12
// megapixels stays under 400 MB (377; 390 at the usual whole, 355 at a quarter, which takes a twentieth more time).
const garbagePct = 75

// largeHeap is how much of the heap may lie in large pages, bytes: what a photo of 12 megapixels takes.
const largeHeap = 96 << 20

func main() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(garbagePct)
	}
	pages.Heap(largeHeap)
	os.Exit(run(os.Args, os.Stdin, os.Stdout, os.Stderr))
}

var registered []func() *cli.Command

// register adds a command to the program; each command's file calls it from init.
func register(command func() *cli.Command) { registered = append(registered, command) }

// run is the program from its arguments to its exit status.
func run(args []string, stdin io.Reader, stdout, stderr io.Writer) (status int) {
	out := &faultWriter{w: stdout}
	app := newApp(stdin, out, stderr)
	defer func() {
		// Without this a panic would leave the status of wrong usage behind.
		if r := recover(); r != nil {
			fmt.Fprintf(stderr, "gristmark: a fault of the program: %v\n%s", r, debug.Stack())
			status = statusFault
		}
	}()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if len(args) > 1 && args[1] == completing {
		writeCandidates(out, app, args[2:])
		return statusDone
	}
	args = reorder(app, args)
	err := app.RunContext(ctx, args)
	if out.err != nil {
		err = fmt.Errorf("the output could not be written: %w", out.err)
	}
	voice := app.Metadata[voiceKey].(*voice)
	printError(stderr, withUsageHint(app, args, err), voice.words)
	return exitStatus(err)
}

// newApp builds the program from the registered commands.
func newApp(stdin io.Reader, stdout, stderr io.Writer) *cli.App {
	app := &cli.App{
		Name:            "gristmark",
		Usage:           "judge chopped whole-plant maize from photos of a tray",
		UsageText:       "gristmark COMMAND [options] [arguments]",
		Description:     "Exit status: 0 all done; 1 a fault of the program or the machine; 2 wrong usage;\n3 at least one input was refused with its reason, the others still reported.",
		Version:         programVersion(),
		Reader:          stdin,
		Writer:          stdout,
		ErrWriter:       stderr,
		HideHelpCommand: true,
		ExitErrHandler:  func(*cli.Context, error) {}, // run alone decides the status
		OnUsageError:    wrongUsage,
		Action:          rootAction,
		Flags:           globalFlags(),
		Before:          setVoice,
		After:           sayTime,
		Metadata:        map[string]any{voiceKey: firstVoice(stderr)},
	}
	more := helpOnGlobals()
	for _, flag := range app.Flags {
		plainDefault(flag)
	}
	for _, build := range registered {
		command := build()
		prepare(command, more)
		app.Commands = append(app.Commands, command)
	}
	sort.Slice(app.Commands, func(i, j int) bool { return app.Commands[i].Name < app.Commands[j].Name })
	return app
}

// prepare gives a command, and those under it, the program's way with wrong usage. A leaf has no
// hidden "help" command, so that a photo may bear that name. More ends the help.
func prepare(command *cli.Command, more string) {
	command.OnUsageError = wrongUsage
	command.CustomHelpTemplate = cli.SubcommandHelpTemplate + more
	if len(command.Subcommands) == 0 {
		command.HideHelpCommand = true
		command.CustomHelpTemplate = cli.CommandHelpTemplate + more
	}
	for _, flag := range command.Flags {
		plainDefault(flag)
	}
	for _, sub := range command.Subcommands {
		prepare(sub, more)
	}
}

// plainDefault keeps "default: 0" out of the help where 0 stands for not given, and "default: false" everywhere.
func plainDefault(flag cli.Flag) {
	switch f := flag.(type) {
	case *cli.BoolFlag:
		f.DisableDefaultText = true
	case *cli.Float64Flag:
		if f.Value == 0 && f.DefaultText == "" {
			f.DefaultText = "not given"
		}
	}
}

func wrongUsage(c *cli.Context, err error, _ bool) error {
	hint := "gristmark --help"
	if c.Command != nil && c.Command.Name != "" && c.Command.Name != c.App.Name {
		hint = "gristmark " + c.Command.Name + " --help"
	}
	return withHint(usageError(err.Error()), hint+" lists the options")
}

// rootAction runs when no command was named.
func rootAction(c *cli.Context) error {
	if !c.Args().Present() {
		_ = cli.ShowAppHelp(c)
		return nil
	}
	return withHint(usageErrorf("there is no command %q", c.Args().First()), "gristmark --help lists the commands")
}

// faultWriter remembers the first failure to write, so that a full disk is never a silent success.
type faultWriter struct {
	w   io.Writer
	err error
}

func (f *faultWriter) Write(p []byte) (int, error) {
	n, err := f.w.Write(p)
	if err != nil && f.err == nil {
		f.err = err
	}
	return n, err
}
