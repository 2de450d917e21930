package main

import (
	"io"
	"slices"
	"strings"
	"testing"

	"github.com/urfave/cli/v2"
)

// Every option that values are known for exists.
func TestOptionValuesAreOfOptions(t *testing.T) {
	app := newApp(strings.NewReader(""), io.Discard, io.Discard)
	for name, values := range optionValues() {
		if name == "kernel" { // the user's own
			continue
		}
		if len(values) < 2 {
			t.Errorf("%s: %v", name, values)
		}
		command, option, named := strings.Cut(name, " ")
		if !named {
			command, option = "", name
		}
		if !hasOption(app.Flags, app.Commands, command, option) {
			t.Errorf("there is no option --%s of %q", option, command)
		}
	}
}

func hasOption(flags []cli.Flag, commands []*cli.Command, command, option string) bool {
	if command == "" && findFlag(flags, "--"+option) != nil {
		return true
	}
	return slices.ContainsFunc(commands, func(c *cli.Command) bool {
		return (command == "" || c.Name == command) && hasOption(c.Flags, c.Subcommands, "", option)
	})
}

// What is offered is taken: no value of an option of measure is called wrong.
func TestOfferedValuesAreTaken(t *testing.T) {
	for option, values := range optionValues() {
		if strings.Contains(option, " ") || slices.Contains([]string{"kernel", "material", "set", "group", "pdf", "plots", "box-set"}, option) {
			continue
		}
		for _, v := range values {
			if strings.HasSuffix(v, ":") {
				v += map[string]string{"grid:": "10mm", "rule:": "1mm", "frame:": "210x297mm"}[v]
			}
			var said strings.Builder
			if status := run([]string{"gristmark", "measure", "--" + option, v, "nothing.jpg"}, strings.NewReader(""), io.Discard, &said); status != statusRefused {
				t.Errorf("--%s %s: status %d, %s", option, v, status, said.String())
			}
		}
	}
}

func TestCandidatesOfNothing(t *testing.T) {
	app := newApp(strings.NewReader(""), io.Discard, io.Discard)
	if len(candidates(app, nil)) < 10 {
		t.Error("no commands are offered")
	}
	for _, c := range candidates(app, []string{"lab", "fit", "--"}) {
		if c.word == "--targets" {
			t.Error("an option of lab apply is offered for lab fit")
		}
	}
}
