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
	"gristmark/internal/words"
)

// progress shows how far a batch is: a bar on a terminal, plain lines elsewhere.
type progress struct {
	w         io.Writer
	say       *words.Words
	all, done int
	measured  int // of those done, not found again
	bar       *progressbar.ProgressBar
	began     time.Time
	told      time.Time // when rate and time left were last told
	every     time.Duration
}

func newProgress(w io.Writer, photos int, say *words.Words) *progress {
	p := &progress{w: w, say: say, all: photos, every: 10 * time.Second}
	if f, ok := w.(*os.File); ok && photos > 0 && term.IsTerminal(int(f.Fd())) && os.Getenv("TERM") != "dumb" {
		p.bar = progressbar.NewOptions(photos,
			progressbar.OptionSetWriter(w),
			progressbar.OptionSetDescription(say.T("photos")),
			progressbar.OptionShowCount(),
			progressbar.OptionShowIts(),
			progressbar.OptionSetItsString(say.T("photos")),
			progressbar.OptionSetPredictTime(true),
			progressbar.OptionThrottle(200*time.Millisecond),
			progressbar.OptionSetWidth(30),
			progressbar.OptionClearOnFinish(),
		)
	}
	return p
}

func (p *progress) start() {
	p.began = time.Now()
	p.told = p.began
	if p.bar != nil {
		_ = p.bar.RenderBlank()
	}
}

func (p *progress) photo(photo result.Photo, again bool) {
	p.done++
	state := p.say.T("measured")
	if photo.Status == result.Refused {
		state = p.say.T("refused: %s", p.say.Say(*photo.Problem))
	} else if again {
		state = p.say.T("measured before")
	}
	if !again {
		p.measured++
	}
	if p.bar == nil {
		fmt.Fprintf(p.w, "%d/%d %s: %s\n", p.done, p.all, photo.File, state)
		if now := time.Now(); now.Sub(p.told) >= p.every && p.done < p.all {
			p.told = now
			fmt.Fprintln(p.w, rateLine(p.say, p.done, p.all, p.measured, now.Sub(p.began)))
		}
		return
	}
	if photo.Status == result.Refused {
		_ = p.bar.Clear()
		fmt.Fprintf(p.w, "%s: %s\n", photo.File, state)
	}
	_ = p.bar.Add(1)
}

// rateLine tells how fast it goes and how long the rest takes at that rate; photos found again take no time.
func rateLine(say *words.Words, done, all, measured int, took time.Duration) string {
	if measured == 0 || took <= 0 {
		return say.T("%d of %d photos", done, all)
	}
	each := took / time.Duration(measured)
	return say.T("%d of %d photos, %.1f a minute, about %s left", done, all, time.Minute.Seconds()/each.Seconds(), roundTime(each*time.Duration(all-done)))
}

// roundTime is a time as people say it: seconds, then minutes, then hours and minutes.
func roundTime(d time.Duration) string {
	switch {
	case d < time.Minute:
		return fmt.Sprintf("%.0f s", d.Seconds())
	case d < time.Hour:
		return fmt.Sprintf("%.0f min", d.Minutes())
	}
	d = d.Round(time.Minute)
	return fmt.Sprintf("%d h %d min", d/time.Hour, d%time.Hour/time.Minute)
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
