package main

import (
	"reflect"
	"strings"
	"testing"

	"github.com/urfave/cli/v2"
)

func testApp() *cli.App {
	return &cli.App{Flags: []cli.Flag{&cli.StringFlag{Name: "lang"}, &cli.BoolFlag{Name: "quiet"}}, Commands: []*cli.Command{
		{Name: "measure", Flags: []cli.Flag{
			&cli.StringFlag{Name: "scale", Aliases: []string{"s"}},
			&cli.BoolFlag{Name: "json"},
			&cli.Float64Flag{Name: "dm"},
		}},
		{Name: "targets", Subcommands: []*cli.Command{
			{Name: "show", Flags: []cli.Flag{&cli.StringFlag{Name: "file"}}},
		}},
	}}
}

func TestReorder(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"g measure a.jpg --json", "g measure --json -- a.jpg"},
		{"g measure a.jpg --scale card b.jpg", "g measure --scale card -- a.jpg b.jpg"},
		{"g measure a.jpg -s card b.jpg", "g measure -s card -- a.jpg b.jpg"},
		{"g measure a.jpg --scale=card --json b.jpg", "g measure --scale=card --json -- a.jpg b.jpg"},
		{"g measure --json -- --scale a.jpg", "g measure --json -- --scale a.jpg"},
		{"g measure a.jpg -- -b.jpg --json", "g measure -- a.jpg -b.jpg --json"},
		{"g measure -5 --dm -3", "g measure --dm -3 -- -5"},
		{"g measure a.jpg --nope", "g measure --nope -- a.jpg"},
		{"g measure a.jpg --scale", "g measure --scale -- a.jpg"},
		{"g measure - --json", "g measure --json -- -"},
		{"g targets show x --file f", "g targets show --file f -- x"},
		{"g measure a.jpg --lang de", "g --lang de measure -- a.jpg"},
		{"g measure --scale --lang a.jpg --quiet", "g --quiet measure --scale --lang -- a.jpg"},
		{"g --quiet measure --lang=de a.jpg", "g --quiet --lang=de measure -- a.jpg"},
		{"g targets --lang de show x", "g --lang de targets show -- x"},
		{"g measure -- --lang de", "g measure -- --lang de"},
		{"g --lang measure", "g --lang measure"},
		{"g --version", "g --version"},
		{"g nope --json", "g nope --json"},
		{"g", "g"},
	} {
		got := reorder(testApp(), strings.Fields(c.in))
		if !reflect.DeepEqual(got, strings.Fields(c.want)) {
			t.Errorf("%s: got %s, want %s", c.in, strings.Join(got, " "), c.want)
		}
	}
}
