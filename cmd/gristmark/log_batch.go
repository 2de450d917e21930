package main

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/urfave/cli/v2"

	"gristmark/internal/harvest"
	"gristmark/internal/harvestfile"
	"gristmark/internal/pipeline"
	"gristmark/internal/result"
)

// batchLogFlags are the options of batch that write into the harvest log.
func batchLogFlags() []cli.Flag {
	return append(logFlags(),
		&cli.StringFlag{Name: "log", Usage: "write the samples with photos and documents into the `HARVEST` of the harvest log in --data, by number or name"},
		&cli.StringFlag{Name: "account", Usage: "with --log, act as the account `NAME`; without it as the one made first"},
	)
}

// toLog writes the samples into the harvest log that --log names; without it nothing happens. What was written before is found again.
func (b *batchJob) toLog(c *cli.Context) (err error) {
	if !c.IsSet("log") {
		return nil
	}
	l, d, err := openDesk(c)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, l.Close(c.Context)) }()
	h, err := harvestOf(c, d, c.String("log"))
	if err != nil {
		return err
	}
	m, err := newMeasurer(1)
	if err != nil {
		return err
	}
	into := importer{c, b, d, h.ID, m}
	photos, again := 0, 0
	for i, s := range b.samples {
		n, k, err := into.sample(s, b.opts[i])
		if err != nil {
			return said(err)
		}
		photos, again = photos+n, again+k
	}
	fmt.Fprintln(c.App.ErrWriter, wordsOf(c).T("log: %d photo(s) into harvest %d, %s; %d were there already", photos, h.ID, h.Name, again))
	return nil
}

type importer struct {
	c       *cli.Context
	b       *batchJob
	desk    *harvest.Desk
	harvest int64
	m       *measurer
}

// sample writes one sample as a load of its name.
func (im importer) sample(s pipeline.Batch, opt pipeline.Options) (photos, again int, err error) {
	ctx := im.c.Context
	name := loadName(s.Name)
	load, err := im.desk.LoadNamed(ctx, im.harvest, name)
	if errors.Is(err, harvest.ErrNone) {
		load, err = im.desk.AddLoad(ctx, im.load(name, s, opt))
	}
	if err != nil {
		return 0, 0, err
	}
	for _, photo := range s.Photos {
		in, err := im.photo(photo, opt)
		if err != nil {
			return photos, again, err
		}
		if in == nil {
			continue
		}
		_, known, err := im.desk.Import(ctx, load.ID, *in, im.m)
		if err != nil {
			return photos, again, err
		}
		if photos++; known {
			again++
		}
	}
	return photos, again, nil
}

// loadName is a sample's name, cut to what the log takes.
func loadName(sample string) string {
	r := []rune(documentName(sample))
	return string(r[max(0, len(r)-80):])
}

func (im importer) load(name string, s pipeline.Batch, opt pipeline.Options) harvest.Load {
	told := s.Settings.Over(harvestfile.FromContext(opt.Context))
	l := harvest.Load{HarvestID: im.harvest, Name: name, Settings: loggedSettings(told, opt)}
	for _, layout := range []string{time.RFC3339, time.DateOnly} {
		if at, err := time.Parse(layout, told.TakenAt); err == nil {
			l.At = at
		}
	}
	return l
}

// loggedSettings are the settings of a document as the log has them.
func loggedSettings(s result.Settings, opt pipeline.Options) harvest.Settings {
	out := harvest.Settings{
		Field: s.Field, Hybrid: s.Hybrid, DMPct: s.DMPct, TLOCMM: s.TLOCMM, RollGapMM: s.RollGapMM, Process: s.Process, State: s.State, Note: s.Note,
		Show: opt.Show, Scale: opt.Scale,
	}
	if k := opt.Kernel; k.From != "" && k.From != "default" {
		out.Kernel = fmt.Sprintf("%gx%gx%g", k.LengthMM, k.WidthMM, k.ThicknessMM)
	}
	return out
}

// photo is a measured photo as the log takes it; nil where the store has none of it.
func (im importer) photo(name string, opt pipeline.Options) (*harvest.Imported, error) {
	data, err := os.ReadFile(filepath.Join(im.b.folder, filepath.FromSlash(name)))
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read: %v", name, unwrapped(err))
	}
	sum := sha256.Sum256(data)
	sha := hex.EncodeToString(sum[:])
	f := im.b.store.Frame(sha, opt)
	if f == nil {
		return nil, nil // the program failed on it, and said so
	}
	in := &harvest.Imported{Key: "batch " + sha, File: filepath.Base(filepath.FromSlash(name)), Data: data}
	f.Photo.File = name
	if kept := im.b.store.Picture(sha, opt); opt.Picture && kept != nil {
		outcome := im.m.stages.Sample([]*pipeline.Frame{f}, opt)
		if in.Overlay, err = overlayJPEG(outcome, 0, kept, im.b.words); err != nil {
			return nil, err
		}
	}
	in.Photo = f.Photo
	in.Keep, err = keepFrame(f)
	return in, err
}
