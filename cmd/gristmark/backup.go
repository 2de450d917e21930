package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/internal/harvest"
	"gristmark/internal/pipeline"
)

func init() {
	register(backupCommand)
	register(restoreCommand)
}

func backupCommand() *cli.Command {
	return &cli.Command{
		Name:      "backup",
		Usage:     "copy the whole harvest log with its photos into one file",
		ArgsUsage: "FILE.tar",
		Description: "Takes the log as it is at one moment, while a server goes on working on it. The file holds every table\n" +
			"and photo with its SHA-256, is read back before it takes its name, and goes into either kind of database.",
		Flags: append(logFlags(), &cli.BoolFlag{Name: "verify", Usage: "only read FILE through, and say whether it is whole"}),
		Action: func(c *cli.Context) error {
			if c.NArg() != 1 {
				return withHint(usageError("backup needs one FILE"), "gristmark backup log.tar")
			}
			if c.Bool("verify") {
				return verifyBackup(c, c.Args().First())
			}
			return runBackup(c, c.Args().First())
		},
	}
}

func restoreCommand() *cli.Command {
	return &cli.Command{
		Name:      "restore",
		Usage:     "fill an empty harvest log from a backup",
		ArgsUsage: "FILE.tar",
		Description: "The log that --data and --database name must be empty or not be there yet; the one in use is never\n" +
			"overwritten. A broken backup is refused and leaves the log empty.",
		Flags: logFlags(),
		Action: func(c *cli.Context) error {
			if c.NArg() != 1 {
				return withHint(usageError("restore needs one FILE"), "gristmark restore log.tar --data DIR")
			}
			return runRestore(c, c.Args().First())
		},
	}
}

// runBackup writes beside the file and gives it its name once it was read back whole.
func runBackup(c *cli.Context, file string) error {
	place, err := logPlaceOf(c)
	if err != nil {
		return err
	}
	if err := place.exists(); err != nil {
		return err
	}
	if _, err := os.Stat(file); err == nil {
		return refusedErrorf("%s is there already; choose another name", file)
	}
	l, err := openLog(c.Context, place, nil)
	if err != nil {
		return err
	}
	defer l.Close(c.Context)
	f, err := os.CreateTemp(filepath.Dir(file), ".gristmark-backup-*")
	if err != nil {
		return fmt.Errorf("%s cannot be written: %v", file, unwrapped(err))
	}
	defer os.Remove(f.Name()) // gone already once it has its name
	defer f.Close()
	if err := l.Backup(c.Context, f); err != nil {
		return said(err)
	}
	size, err := f.Seek(0, 1)
	if err == nil {
		err = f.Sync()
	}
	if err == nil {
		_, err = f.Seek(0, 0)
	}
	if err != nil {
		return fmt.Errorf("%s cannot be written: %v", file, unwrapped(err))
	}
	if err := harvest.Verify(c.Context, f); err != nil {
		return said(err)
	}
	if err := os.Rename(f.Name(), file); err != nil {
		return fmt.Errorf("%s cannot be written: %v", file, unwrapped(err))
	}
	fmt.Fprintln(c.App.ErrWriter, wordsOf(c).T("backup: %s, %.1f MB, read back whole", file, float64(size)/1e6))
	return nil
}

func verifyBackup(c *cli.Context, file string) error {
	f, err := os.Open(file)
	if err != nil {
		return refusedErrorf("%s cannot be read: %v", file, unwrapped(err))
	}
	defer f.Close()
	if err := harvest.Verify(c.Context, f); err != nil {
		return refusedBackup(file, err)
	}
	fmt.Fprintln(c.App.ErrWriter, wordsOf(c).T("backup: %s is whole", file))
	return nil
}

func refusedBackup(file string, err error) error {
	if errors.Is(err, harvest.ErrBackup) || errors.Is(err, harvest.ErrInput) {
		return refusedErrorf("%s: %s", file, strings.TrimPrefix(err.Error(), "harvest: "))
	}
	return said(err)
}

func runRestore(c *cli.Context, file string) error {
	place, err := logPlaceOf(c)
	if err != nil {
		return err
	}
	f, err := os.Open(file)
	if err != nil {
		return refusedErrorf("%s cannot be read: %v", file, unwrapped(err))
	}
	defer f.Close()
	unlock, err := lockData(place.data)
	if err != nil {
		return err
	}
	defer unlock()
	if err := harvest.Verify(c.Context, f); err != nil {
		return refusedBackup(file, err)
	}
	if _, err := f.Seek(0, 0); err != nil {
		return refusedErrorf("%s cannot be read twice: %v", file, unwrapped(err))
	}
	err = harvest.Restore(c.Context, f, harvest.Options{Database: place.database, Photos: place.photos, Version: programVersion()})
	if err != nil {
		return refusedBackup(file, err)
	}
	fmt.Fprintln(c.App.ErrWriter, wordsOf(c).T("restored into %s", place.data))
	return nil
}

// exists refuses a place without a log, so that looking makes none.
func (p logPlace) exists() error {
	file, local := strings.CutPrefix(p.database, "sqlite:")
	if !local || strings.Contains(file, "://") {
		return nil
	}
	if _, err := os.Stat(file); err != nil {
		return withHint(refusedErrorf("there is no harvest log at %s", file), "gristmark serve makes one; --data DIR names another place")
	}
	return nil
}

func writeWhole(file string, data []byte) error { return pipeline.WriteFile(file, data) }
