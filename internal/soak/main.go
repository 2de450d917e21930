// Command soak loads the built server as a crew would, and kills it as a flat battery would, and says whether it held.
//
//	go run ./internal/soak --program bin/gristmark [--phones 20] [--every 10s] [--for 2m] [--kills 100]
//
// The server runs on two processors. Load: each phone uploads a photo of 12 megapixels every ten seconds, while a reader looks at pages.
// Kills: the server is killed (SIGKILL) in the middle of uploads; after each start every acknowledged photo must be there, and at the
// end each must be measured once. It stops by itself.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"time"
)

// plan is what a run does.
type plan struct {
	program string
	photo   string
	phones  int
	every   time.Duration
	length  time.Duration
	kills   int
	seed    uint64
}

// The limits that a run must keep.
const (
	mostMemoryMB = 1500
	mostPage     = 200 * time.Millisecond // 95 of 100 pages
	longest      = 40 * time.Minute       // of everything
)

func main() {
	var p plan
	flag.StringVar(&p.program, "program", "bin/gristmark", "the built program")
	flag.StringVar(&p.photo, "photo", "", "a photo of 12 megapixels; without it one is drawn")
	flag.IntVar(&p.phones, "phones", 20, "phones")
	flag.DurationVar(&p.every, "every", 10*time.Second, "time between the photos of a phone")
	flag.DurationVar(&p.length, "for", 2*time.Minute, "length of the load; 0: none")
	flag.IntVar(&p.kills, "kills", 100, "times that the server is killed")
	flag.Uint64Var(&p.seed, "seed", 1, "of the moments of killing")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	ctx, cancel := context.WithTimeout(ctx, longest)
	defer cancel()
	if err := run(ctx, p); err != nil {
		fmt.Fprintln(os.Stderr, "soak:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, p plan) error {
	photo, err := p.photoBytes()
	if err != nil {
		return err
	}
	fmt.Printf("photo: %.1f MB\n", float64(len(photo))/1e6)
	if p.length > 0 {
		if err := load(ctx, p, photo); err != nil {
			return fmt.Errorf("load: %w", err)
		}
	}
	if p.kills > 0 {
		if err := kills(ctx, p); err != nil {
			return fmt.Errorf("kills: %w", err)
		}
	}
	fmt.Println("soak: held")
	return nil
}
