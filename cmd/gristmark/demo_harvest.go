package main

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/urfave/cli/v2"

	"gristmark/internal/harvest"
	"gristmark/internal/scene"
)

// The invented harvest: three days of silage, eight loads a day. In the afternoon of the second day the rolls run apart unnoticed, and
// on the third morning they are closed.
const (
	demoDays, demoLoadsADay = 3, 8
	demoPhotos              = 3  // of a load
	demoDriftFrom           = 11 // number of the load from which the rolls run apart
	demoName                = "demo"
	demoPasswordFile        = "demo-password.txt"
	demoSeed                = 91000
)

// fillDemo draws the photos of the invented harvest, three a load, and uploads them as a phone would: every number in the log is measured.
// A log that is not empty is left as it is.
func fillDemo(ctx context.Context, c *cli.Context, l *harvest.Log, data, address string) error {
	token, needed, err := l.FirstLink(ctx)
	if err != nil {
		return said(err)
	}
	kept := filepath.Join(data, demoPasswordFile)
	if !needed {
		if password, err := os.ReadFile(kept); err == nil {
			fmt.Fprintln(c.App.Writer, wordsOf(c).T("demo: sign in at %s as %s with the password %s", address, demoName, strings.TrimSpace(string(password))))
			return nil
		}
		fmt.Fprintln(complaints(c), wordsOf(c).T("demo: this log is not empty, and is left as it is"))
		return nil
	}
	password := rand.Text()[:16]
	if err := os.WriteFile(kept, []byte(password+"\n"), 0o600); err != nil {
		return err
	}
	who, err := l.Join(ctx, token, demoName, password)
	if err != nil {
		return said(err)
	}
	fmt.Fprintln(c.App.Writer, wordsOf(c).T("demo: sign in at %s as %s with the password %s", address, demoName, password))
	fmt.Fprintln(c.App.Writer, wordsOf(c).T("demo: drawing and measuring %d loads; they appear one by one over some minutes", demoDays*demoLoadsADay))
	if err := fillFarm(ctx, l.Desk(who)); err != nil && ctx.Err() == nil {
		return fmt.Errorf("the demo harvest: %w", said(err))
	}
	return nil
}

func fillFarm(ctx context.Context, d *harvest.Desk) error {
	farm, err := d.AddFarm(ctx, "Varnebrook (demo)")
	if err != nil {
		return err
	}
	h, err := d.AddHarvest(ctx, harvest.Harvest{FarmID: farm.ID, Name: "Demo silage, clamp 2"})
	if err != nil {
		return err
	}
	first := time.Now().AddDate(0, 0, -demoDays).Truncate(24 * time.Hour)
	for n := range demoDays * demoLoadsADay {
		if err := fillLoad(ctx, d, h.ID, n, first); err != nil || ctx.Err() != nil {
			return errors.Join(err, ctx.Err())
		}
	}
	return nil
}

// demoLoad is what is told of load n, and how its chop is drawn.
func demoLoad(n int, first time.Time) (harvest.Load, scene.Lot) {
	day, turn := n/demoLoadsADay, n%demoLoadsADay
	dm, tloc, told := 33.2+0.15*float64(n%5)+0.4*float64(day), 19.0, 1.5
	real := told
	switch {
	case day == demoDays-1:
		told, real = 1.2, 1.2
	case n >= demoDriftFrom:
		real = told + 0.45*float64(n-demoDriftFrom+1)
	}
	fields := []string{"Long Acre", "Mill Field", "Upper Ley"}
	hybrids := []string{"early dent", "late dent", "early dent"}
	load := harvest.Load{
		Name: fmt.Sprintf("Load %d", n+1),
		At:   first.AddDate(0, 0, day).Add(7*time.Hour + time.Duration(turn)*65*time.Minute),
		Settings: harvest.Settings{Field: fields[day], Hybrid: hybrids[day], DMPct: &dm, TLOCMM: &tloc, RollGapMM: &told,
			Process: "conventional", State: "fresh", Note: "invented: the photos are drawn by this program"},
	}
	lot := scene.DefaultLot()
	lot.RollGapMM, lot.CutMM = real, 19
	wide := min(1, (real-1.2)/1.8)
	lot.WholeShare, lot.NickShare, lot.ShareMedian = 0.006+0.064*wide, 0.008+0.03*wide, 0.13+0.09*wide
	return load, lot
}

func fillLoad(ctx context.Context, d *harvest.Desk, harvestID int64, n int, first time.Time) error {
	load, lot := demoLoad(n, first)
	load.HarvestID = harvestID
	kept, err := d.AddLoad(ctx, load)
	if err != nil {
		return err
	}
	for i := range demoPhotos {
		photo, err := demoPhoto(lot, demoSeed+uint64(10*n+i), load.At.Add(time.Duration(i)*time.Minute))
		if err != nil {
			return err
		}
		name := fmt.Sprintf("load-%d-%d.jpg", n+1, i+1)
		if _, _, err := d.Upload(ctx, kept.ID, "demo "+name, name, bytes.NewReader(photo), 0); err != nil {
			return err
		}
	}
	return nil
}

// demoPhoto draws one small tray photo.
func demoPhoto(lot scene.Lot, seed uint64, at time.Time) ([]byte, error) {
	s := scene.Default()
	s.Family, s.Lot, s.VaryLot = "demo", lot, false
	s.WidthPx, s.HeightPx = 1600, 1200
	s.Camera.HeightMM, s.Camera.TiltDeg = scene.Range{235, 250}, scene.Range{1, 6}
	s.Place.Kernels, s.Place.Pieces, s.Tray.Kinds = scene.Range{70, 78}, scene.Range{30, 36}, []string{"navy"}
	s.Place.TouchShare, s.Place.CrossShare = scene.Range{0.02, 0.06}, scene.Range{0, 0.03}
	p := scene.Scene{Settings: s, Seed: seed}.Draw()
	c := p.DefaultCapture()
	c.TakenAt, c.Offset = at.UTC(), "+00:00"
	return p.JPEG(c)
}
