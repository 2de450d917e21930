package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"

	"gristmark/internal/result"
)

// progress shows how far a batch is: a bar on a terminal, plain lines elsewhere.
type progress struct {
	w         io.Writer
	all, done int
	bar       *progressbar.ProgressBar
}

func newProgress(w io.Writer, photos int) *progress {
	p := &progress{w: w, all: photos}
	if f, ok := w.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		p.bar = progressbar.NewOptions(photos,
			progressbar.OptionSetWriter(w),
			progressbar.OptionSetDescription("photos"),
			progressbar.OptionShowCount(),
			progressbar.OptionSetPredictTime(true),
			progressbar.OptionThrottle(200*time.Millisecond),
			progressbar.OptionSetWidth(30),
			progressbar.OptionClearOnFinish(),
		)
	}
	return p
}

func (p *progress) start() {
	if p.bar != nil {
		_ = p.bar.RenderBlank()
	}
}

func (p *progress) photo(photo result.Photo, again bool) {
	p.done++
	state := photo.Status
	if photo.Status == result.Refused {
		state = "refused: " + *photo.Problem
	} else if again {
		state = "measured before"
	}
	if p.bar == nil {
		fmt.Fprintf(p.w, "%d/%d %s: %s\n", p.done, p.all, photo.File, state)
		return
	}
	if photo.Status == result.Refused {
		_ = p.bar.Clear()
		fmt.Fprintf(p.w, "%s: %s\n", photo.File, state)
	}
	_ = p.bar.Add(1)
}

func (p *progress) stop() {
	if p.bar != nil {
		_ = p.bar.Finish()
	}
}

// unwrapped drops the operation and the path from an error of the file system.
func unwrapped(err error) error {
	var e *fs.PathError
	if errors.As(err, &e) {
		return e.Err
	}
	return err
}
