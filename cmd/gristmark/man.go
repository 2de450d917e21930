package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/urfave/cli/v2"
)

func init() { register(manCommand) }

func manCommand() *cli.Command {
	return &cli.Command{
		Name:        "man",
		Usage:       "print the manual page",
		ArgsUsage:   " ",
		Description: "Made of the commands and their options. To read it: gristmark man | man -l -",
		Action: func(c *cli.Context) error {
			if c.NArg() > 0 {
				return usageErrorf("man takes no argument, but got %q", c.Args().First())
			}
			return writeManual(c.App.Writer, c.App)
		},
	}
}

// writeManual writes the program's manual page for section 1, in the macros of man(7).
func writeManual(w io.Writer, app *cli.App) error {
	var b strings.Builder
	p := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	p(".TH GRISTMARK 1 \"\" \"gristmark %s\" \"User Commands\"", roff(programVersion()))
	p(".SH NAME\ngristmark \\- %s", roff(app.Usage))
	p(".SH SYNOPSIS\n.B gristmark\n.I COMMAND\n[options] [arguments]")
	p(".SH DESCRIPTION\n%s", roff(app.Description))
	p(".SH OPTIONS OF EVERY COMMAND")
	manOptions(&b, app.Flags)
	p(".SH COMMANDS")
	for _, c := range app.Commands {
		manCommandEntry(&b, "gristmark", c)
	}
	p(".SH EXIT STATUS")
	for _, s := range [][2]string{{"0", "all done"}, {"1", "a fault of the program or the machine"}, {"2", "wrong usage"}, {"3", "at least one input was refused with its reason, the others still reported"}} {
		p(".TP\n.B %s\n%s", s[0], s[1])
	}
	p(".SH ENVIRONMENT\n.TP\n.BR LC_ALL \", \" LC_MESSAGES \", \" LANG\nThe first that is set names the language, unless\n.B \\-\\-lang\nis given.")
	p(".TP\n.B NO_COLOR\nSet to anything, no colours are used.")
	_, err := io.WriteString(w, b.String())
	return err
}

// manCommandEntry writes a command with its options, and those under it.
func manCommandEntry(b *strings.Builder, above string, c *cli.Command) {
	if c.Hidden || c.Name == "help" {
		return
	}
	name := above + " " + c.Name
	fmt.Fprintf(b, ".SS %s %s\n", roff(name), roff(strings.TrimSpace(c.ArgsUsage)))
	fmt.Fprintf(b, "%s.\n", roff(strings.ToUpper(c.Usage[:1])+c.Usage[1:]))
	if c.Description != "" {
		fmt.Fprintf(b, ".PP\n%s\n", roffText(c.Description))
	}
	manOptions(b, c.Flags)
	for _, sub := range c.Subcommands {
		manCommandEntry(b, name, sub)
	}
}

func manOptions(b *strings.Builder, flags []cli.Flag) {
	for _, f := range flags {
		d, ok := f.(cli.DocGenerationFlag)
		if !ok || f.Names()[0] == "help" {
			continue
		}
		placeholder, usage := placeholderOf(d.GetUsage())
		var names []string
		for _, n := range f.Names() {
			dashes := "--"
			if len(n) == 1 {
				dashes = "-"
			}
			names = append(names, `\fB`+roff(dashes+n)+`\fR`)
		}
		head := strings.Join(names, ", ")
		if d.TakesValue() {
			head += ` \fI` + roff(placeholder) + `\fR`
		}
		if value := d.GetDefaultText(); value != "" && d.TakesValue() {
			usage += " (default: " + strings.Trim(value, `"`) + ")"
		}
		fmt.Fprintf(b, ".TP\n%s\n%s\n", head, roff(usage))
	}
}

// placeholderOf takes the name of an option's value out of its back quotes.
func placeholderOf(usage string) (placeholder, text string) {
	before, rest, ok := strings.Cut(usage, "`")
	if !ok {
		return "VALUE", usage
	}
	name, after, _ := strings.Cut(rest, "`")
	return name, before + name + after
}

// roffText keeps lines that are set in by spaces as they are, as an example is.
func roffText(s string) string {
	var out []string
	example := false
	for _, line := range strings.Split(s, "\n") {
		in := strings.HasPrefix(line, "  ")
		switch {
		case in && !example:
			out = append(out, ".PP\n.EX")
		case !in && example:
			out = append(out, ".EE")
		}
		example = in
		switch {
		case line == "":
			out = append(out, ".PP")
		default:
			out = append(out, roff(line))
		}
	}
	if example {
		out = append(out, ".EE")
	}
	return strings.Join(out, "\n")
}

// roff escapes what the formatter would take for a command.
func roff(s string) string {
	lines := strings.Split(strings.NewReplacer(`\`, `\e`, "-", `\-`, "'", `\(aq`, "`", "\\`", "…", "...").Replace(s), "\n")
	for i, line := range lines {
		if strings.HasPrefix(line, ".") || strings.HasPrefix(line, "'") {
			lines[i] = `\&` + line
		}
	}
	return strings.Join(lines, "\n")
}
