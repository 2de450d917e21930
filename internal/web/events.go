package web

import (
	"fmt"
	"net/http"
	"time"
)

// beat is how often a stream of events says that it lives, and how long it may last.
const (
	beat   = 20 * time.Second
	streak = 30 * time.Minute
)

// loadEvents tells a page each time that its load changes, as server-sent events.
func loadEvents(c *call) error {
	l, _, _, err := c.load()
	if err != nil {
		return err
	}
	woken, stop := c.opt.Log.Watch(l.ID)
	defer stop()
	out := http.NewResponseController(c.w)
	_ = out.SetWriteDeadline(time.Time{}) // where the server has one; each write below sets its own
	c.w.Header().Set("Content-Type", "text/event-stream")
	c.w.Header().Set("X-Accel-Buffering", "no")
	c.w.WriteHeader(http.StatusOK)
	alive := time.NewTicker(beat)
	defer alive.Stop()
	end := time.NewTimer(streak)
	defer end.Stop()
	for text := "retry: 3000\nevent: change\ndata: 1\n\n"; ; {
		_ = out.SetWriteDeadline(time.Now().Add(beat))
		if _, err := fmt.Fprint(c.w, text); err != nil {
			return nil
		}
		if err := out.Flush(); err != nil {
			return nil
		}
		select {
		case <-woken:
			text = "event: change\ndata: 1\n\n"
		case <-alive.C:
			text = ": alive\n\n"
		case <-c.ctx().Done():
			return nil
		case <-c.opt.Done:
			return nil
		case <-end.C:
			return nil
		}
	}
}
