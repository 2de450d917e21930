package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"gristmark/internal/scene"
)

// photoBytes is the photo that every phone sends: a drawn tray of 4000 × 3000 px.
func (p plan) photoBytes() ([]byte, error) {
	if p.photo != "" {
		return os.ReadFile(p.photo)
	}
	s := scene.Default()
	s.WidthPx, s.HeightPx = 4000, 3000
	drawn := scene.Scene{Settings: s, Seed: 93001}.Draw()
	return drawn.JPEG(drawn.DefaultCapture())
}

// unlike makes the photo differ in its bytes and not in its picture: what stands behind the end of a JPEG is not looked at.
func unlike(photo []byte, mark string) []byte {
	return append(slices.Clip(slices.Clone(photo)), mark...)
}

// tally is what the phones and the reader saw.
type tally struct {
	mu      sync.Mutex
	faults  []error
	uploads []time.Duration
	pages   []time.Duration
}

func (t *tally) note(list *[]time.Duration, took time.Duration, err error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if err != nil {
		t.faults = append(t.faults, err)
		return
	}
	*list = append(*list, took)
}

// load lets the phones upload for a while, and a reader look at pages.
func load(ctx context.Context, p plan, photo []byte) error {
	dir, err := os.MkdirTemp("", "gristmark-soak-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	s, err := start(ctx, p.program, filepath.Join(dir, "data"))
	if err != nil {
		return err
	}
	c, season, err := first(s)
	if err != nil {
		return errors.Join(err, s.kill())
	}
	during, over := context.WithTimeout(ctx, p.length)
	defer over()
	go s.watch(during)
	var t tally
	var all sync.WaitGroup
	for phone := range p.phones {
		all.Go(func() { t.phone(during, c, season, phone, p, photo) })
	}
	all.Go(func() { t.reader(during, c, season) })
	all.Wait()
	peak := float64(s.peak.Load()) / 1024
	var queue struct {
		Items []struct{ Photos, ID int64 }
	}
	err = errors.Join(c.get("/harvests", &queue), s.stop())
	if err != nil {
		return err
	}
	return t.report(p, peak, queue.Items[0].Photos)
}

// phone uploads a photo at once and then one every so often; a load takes twelve.
func (t *tally) phone(ctx context.Context, c *client, season int64, phone int, p plan, photo []byte) {
	wait(ctx, p.every*time.Duration(phone)/time.Duration(p.phones))
	var l struct{ ID int64 }
	for n := 0; ctx.Err() == nil; n++ {
		begun := time.Now()
		if n%12 == 0 {
			if err := c.post(fmt.Sprintf("/harvests/%d/loads", season), map[string]any{"name": fmt.Sprintf("Phone %d, %d", phone, n)}, &l); err != nil {
				t.note(&t.uploads, 0, err)
				return
			}
		}
		key := fmt.Sprintf("phone-%d-%d", phone, n)
		_, err := c.upload(context.WithoutCancel(ctx), l.ID, key, unlike(photo, key))
		t.note(&t.uploads, time.Since(begun), err)
		wait(ctx, p.every-time.Since(begun))
	}
}

// reader looks at a page twice a second.
func (t *tally) reader(ctx context.Context, c *client, season int64) {
	for n := 0; ctx.Err() == nil; n++ {
		paths := []string{"/", fmt.Sprintf("/harvests/%d", season), "/loads/1", "/waiting"}
		begun := time.Now()
		res, err := c.Get(c.url + paths[n%len(paths)])
		if err == nil {
			_, err = io.Copy(io.Discard, res.Body)
			res.Body.Close()
			if err == nil && res.StatusCode != 200 {
				err = fmt.Errorf("%s: %s", paths[n%len(paths)], res.Status)
			}
		}
		t.note(&t.pages, time.Since(begun), err)
		wait(ctx, 500*time.Millisecond-time.Since(begun))
	}
}

func wait(ctx context.Context, d time.Duration) {
	select {
	case <-ctx.Done():
	case <-time.After(max(d, 0)):
	}
}

// quantile of times, 0 ≤ q ≤ 1.
func quantile(list []time.Duration, q float64) time.Duration {
	if len(list) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(list))
	return sorted[min(len(sorted)-1, int(q*float64(len(sorted))))]
}

func (t *tally) report(p plan, peakMB float64, kept int64) error {
	page := quantile(t.pages, 0.95)
	fmt.Printf("load: %d phones, a photo every %s, for %s, on 2 processors\n", p.phones, p.every, p.length)
	fmt.Printf("uploads: %d acknowledged, %d in the log; median %d ms, 95 of 100 within %d ms\n", len(t.uploads), kept,
		quantile(t.uploads, 0.5).Milliseconds(), quantile(t.uploads, 0.95).Milliseconds())
	fmt.Printf("pages: %d; median %d ms, 95 of 100 within %d ms\n", len(t.pages), quantile(t.pages, 0.5).Milliseconds(), page.Milliseconds())
	fmt.Printf("memory: at most %.0f MB, server and measuring together\n", peakMB)
	fmt.Printf("errors: %d\n", len(t.faults))
	var faults []error
	if len(t.faults) > 0 {
		faults = append(faults, fmt.Errorf("%d errors, the first: %w", len(t.faults), t.faults[0]))
	}
	if int64(len(t.uploads)) != kept {
		faults = append(faults, fmt.Errorf("%d uploads were acknowledged and %d are in the log", len(t.uploads), kept))
	}
	if peakMB > mostMemoryMB {
		faults = append(faults, fmt.Errorf("memory rose to %.0f MB, over %d", peakMB, mostMemoryMB))
	}
	if page > mostPage {
		faults = append(faults, fmt.Errorf("95 of 100 pages took up to %s, over %s", page, mostPage))
	}
	return errors.Join(faults...)
}
