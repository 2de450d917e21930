package main

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"gristmark/internal/result"
)

func TestRateLine(t *testing.T) {
	for _, c := range []struct {
		done, all, measured int
		took                time.Duration
		want                string
	}{
		{30, 90, 20, 40 * time.Second, "30 of 90 photos, 30.0 a minute, about 2 min left"}, // ten were found again
		{1, 2, 1, 3 * time.Second, "1 of 2 photos, 20.0 a minute, about 3 s left"},
		{100, 4000, 100, 5 * time.Minute, "100 of 4,000 photos, 20.0 a minute, about 3 h 15 min left"},
		{5, 9, 0, time.Second, "5 of 9 photos"},
	} {
		if got := rateLine(nil, c.done, c.all, c.measured, c.took); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

// Where there is no terminal, each photo has a line, now and then comes the rate, and nothing moves the cursor.
func TestProgressInPlainLines(t *testing.T) {
	var b bytes.Buffer
	p := newProgress(&b, 3, nil)
	p.every = 0
	p.start()
	problem := "it is blurred"
	p.photo(result.Photo{File: "a.jpg", Status: result.Measured}, true)
	p.photo(result.Photo{File: "b.jpg", Status: result.Refused, Problem: &problem}, false)
	p.photo(result.Photo{File: "c.jpg", Status: result.Measured}, false)
	p.stop()
	lines := strings.Split(b.String(), "\n")
	if len(lines) != 6 || lines[0] != "1/3 a.jpg: measured before" || lines[2] != "2/3 b.jpg: refused: it is blurred" || !strings.HasPrefix(lines[3], "2 of 3 photos, ") || lines[4] != "3/3 c.jpg: measured" {
		t.Errorf("%q", lines)
	}
	if strings.ContainsAny(b.String(), "\x1b\r\b") {
		t.Errorf("control codes in %q", b.String())
	}
}
