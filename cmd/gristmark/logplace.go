package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/internal/harvest"
)

// logPlace is where the harvest log lies.
type logPlace struct{ data, database, photos string }

// logFlags are the options that say where the harvest log lies.
func logFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringFlag{Name: "data", Usage: "`DIR` of the log, the photos and the certificates; without it gristmark in the user's data folder", EnvVars: []string{"GRISTMARK_DATA"}},
		&cli.StringFlag{Name: "database", Usage: "`URL` of the log's database: sqlite:FILE or postgres://…; without it log.db in --data", EnvVars: []string{"GRISTMARK_DATABASE"}},
		&cli.StringFlag{Name: "photos", Usage: "`URL` or folder of the photos: s3://BUCKET?region=… or a folder; without it photos in --data", EnvVars: []string{"GRISTMARK_PHOTOS_URL"}},
	}
}

func logPlaceOf(c *cli.Context) (logPlace, error) {
	p := logPlace{c.String("data"), c.String("database"), c.String("photos")}
	if p.data == "" {
		dir, err := userDataFolder()
		if err != nil {
			return p, withHint(usageErrorf("there is no data folder: %v", err), "gristmark "+c.Command.Name+" --data DIR")
		}
		p.data = dir
	}
	abs, err := filepath.Abs(p.data)
	if err != nil {
		return p, err
	}
	p.data = abs
	if p.database == "" {
		p.database = "sqlite:" + filepath.Join(p.data, "log.db")
	}
	if p.photos == "" {
		p.photos = filepath.Join(p.data, "photos")
	}
	return p, nil
}

// userDataFolder is where the program keeps what is the user's: XDG_DATA_HOME (XDG Base Directory Specification) or what stands for it.
func userDataFolder() (string, error) {
	if dir := os.Getenv("XDG_DATA_HOME"); filepath.IsAbs(dir) {
		return filepath.Join(dir, "gristmark"), nil
	}
	if runtime.GOOS == "windows" {
		if dir := os.Getenv("LocalAppData"); dir != "" {
			return filepath.Join(dir, "gristmark"), nil
		}
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", err
	}
	if runtime.GOOS == "darwin" {
		return filepath.Join(home, "Library", "Application Support", "gristmark"), nil
	}
	return filepath.Join(home, ".local", "share", "gristmark"), nil
}

func openLog(ctx context.Context, p logPlace, logger *slog.Logger) (*harvest.Log, error) {
	if err := os.MkdirAll(p.data, 0o700); err != nil {
		return nil, fmt.Errorf("the data folder %s cannot be made: %v", p.data, unwrapped(err))
	}
	l, err := harvest.Open(ctx, harvest.Options{Database: p.database, Photos: p.photos, Version: programVersion(), Logger: logger})
	return l, said(err)
}

// said gives an error of the log as a sentence, and the exit status that goes with its kind.
func said(err error) error {
	if err == nil {
		return nil
	}
	var usage usageError
	var refused refusedError
	var h hinted
	if errors.As(err, &usage) || errors.As(err, &refused) || errors.As(err, &h) {
		return err
	}
	text := err.Error()
	for _, room := range []string{"harvest: ", "door: ", "web: "} {
		text = strings.TrimPrefix(text, room)
	}
	for _, kind := range []error{harvest.ErrInput, harvest.ErrNone, harvest.ErrRight, harvest.ErrStale, harvest.ErrTooLarge} {
		if errors.Is(err, kind) {
			return refusedError(text)
		}
	}
	return errors.New(text)
}
