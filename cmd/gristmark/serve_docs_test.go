package main

import (
	"os"
	"os/exec"
	"regexp"
	"strings"
	"testing"
)

var shellBlock = regexp.MustCompile("(?s)```sh\n(.*?)```")

// The commands of the page of examples do what the page says, in its order, on a log that holds one load.
func TestExamplesOfTheAPI(t *testing.T) {
	page, err := os.ReadFile("../../docs/api.md")
	if err != nil {
		t.Fatal(err)
	}
	s := newServed(t, nil)
	blocks := shellBlock.FindAllStringSubmatch(string(page), -1)
	if len(blocks) < 10 {
		t.Fatalf("%d commands on the page", len(blocks))
	}
	for _, b := range blocks {
		cmd := exec.CommandContext(t.Context(), "bash", "-euo", "pipefail", "-c", b[1])
		cmd.Dir = "../.."
		cmd.Env = append(os.Environ(), "LOG="+s.url, "TOKEN="+s.token)
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Errorf("%s\n%v: %s", b[1], err, out)
		}
		if strings.Contains(b[1], "/document\n") && !strings.Contains(string(out), `"schema":"gristmark.sample/1"`) {
			t.Errorf("no document: %s", out)
		}
	}
}
