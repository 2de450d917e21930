package main

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"time"

	"gristmark/internal/scene"
)

// senders upload at once, two photos each between two kills.
const senders = 2

// smallPhoto is quickly measured: a drawn tray of 1200 × 900 px.
func smallPhoto() ([]byte, error) {
	s := scene.Default()
	s.WidthPx, s.HeightPx = 1200, 900
	s.Camera.HeightMM, s.Camera.TiltDeg = scene.Range{165, 170}, scene.Range{0, 4}
	s.Tray.Kinds = []string{"navy"}
	s.Place.Kernels, s.Place.Pieces, s.VaryLot = scene.Range{12, 16}, scene.Range{6, 9}, false
	drawn := scene.Scene{Settings: s, Seed: 93002}.Draw()
	return drawn.JPEG(drawn.DefaultCapture())
}

// acknowledged are the photos whose upload was answered, by key.
type acknowledged struct {
	mu   sync.Mutex
	byID map[string]string // id of key
}

// kills kills the server again and again while photos are uploaded, and looks whether all that was acknowledged is there.
func kills(ctx context.Context, p plan) error {
	photo, err := smallPhoto()
	if err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "gristmark-soak-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	data := filepath.Join(dir, "data")
	s, err := start(ctx, p.program, data)
	if err != nil {
		return err
	}
	c, season, err := first(s)
	if err != nil {
		return errors.Join(err, s.kill())
	}
	rng := rand.New(rand.NewPCG(p.seed, 1))
	ack := &acknowledged{byID: map[string]string{}}
	for k := range p.kills {
		if err := between(ctx, s, c, season, k, rng, photo, ack); err != nil {
			return errors.Join(err, s.kill())
		}
		if err := s.kill(); err != nil {
			return err
		}
		if s, err = start(ctx, p.program, data); err != nil {
			return err
		}
		c.url = s.url
	}
	fmt.Printf("kills: %d, %d uploads acknowledged\n", p.kills, len(ack.byID))
	err = ack.allMeasured(ctx, c)
	return errors.Join(err, s.stop())
}

// between uploads into a new load until the moment of killing. A photo whose answer did not come is sent again after the start, under
// the same key, as a phone does.
func between(ctx context.Context, s *server, c *client, season int64, k int, rng *rand.Rand, photo []byte, ack *acknowledged) error {
	var l struct{ ID int64 }
	if err := c.post(fmt.Sprintf("/harvests/%d/loads", season), map[string]any{"name": fmt.Sprintf("Kill %d", k)}, &l); err != nil {
		return err
	}
	during, over := context.WithTimeout(ctx, time.Duration(20+rng.IntN(2500))*time.Millisecond)
	defer over()
	var all sync.WaitGroup
	for sender := range senders {
		all.Go(func() {
			for n := 0; during.Err() == nil && n < 2; n++ {
				key := fmt.Sprintf("kill-%d-%d-%d", k, sender, n)
				id, err := c.upload(during, l.ID, key, unlike(photo, key))
				if err == nil {
					ack.mu.Lock()
					ack.byID[id] = key
					ack.mu.Unlock()
				}
			}
		})
	}
	<-during.Done() // the server dies in the middle of what is under way
	_ = s.cmd.Process.Kill()
	all.Wait()
	return nil
}

// allMeasured waits until the queue is empty, and demands that each acknowledged photo is there and measured once.
func (a *acknowledged) allMeasured(ctx context.Context, c *client) error {
	const patience = 25 * time.Minute
	begun := time.Now()
	lost, twice := 0, 0
	for id, key := range a.byID {
		for {
			var p struct{ State, File, Problem string }
			if err := c.get("/photos/"+id, &p); err != nil {
				fmt.Printf("kills: %s, acknowledged, is lost: %v\n", key, err)
				lost++
				break
			}
			if p.State == "measured" || p.State == "refused" {
				var list struct{ Items []struct{ ID int64 } }
				if err := c.get("/photos/"+id+"/measurements", &list); err != nil {
					return err
				}
				if len(list.Items) != 1 {
					fmt.Printf("kills: %s was measured %d times\n", key, len(list.Items))
					twice++
				}
				break
			}
			if p.State == "failed" || time.Since(begun) > patience || ctx.Err() != nil {
				return fmt.Errorf("%s is %s after %s: %s", key, p.State, time.Since(begun).Round(time.Second), p.Problem)
			}
			wait(ctx, 200*time.Millisecond)
		}
	}
	fmt.Printf("kills: %d lost, %d measured more or less than once; the queue was empty after %s\n", lost, twice, time.Since(begun).Round(time.Second))
	if lost+twice > 0 {
		return errors.New("acknowledged photos were lost or measured twice")
	}
	return nil
}
