package harvest

import (
	"context"
	"errors"
	"fmt"
	"syscall"
)

// More of what the log answers. Each error from outside's fault wraps one of these and reads as one sentence.
var (
	ErrInput    = errors.New("harvest: what was entered cannot be taken")
	ErrTooLarge = errors.New("harvest: the photo is larger than allowed; send a smaller one")
	ErrBusy     = errors.New("harvest: too many wrong passwords for this name; wait a quarter of an hour and try again")
	ErrDeleted  = errors.New("harvest: this photo was uploaded before and deleted since; take a new one if it is wanted")
	ErrStorage  = errors.New("harvest: the photo could not be stored")
	ErrDatabase = errors.New("harvest: the log's database does not answer")
)

// fault is an error with a sentence of its own that counts as one of the kinds above.
type fault struct {
	kind  error
	text  string
	cause error
}

func (f *fault) Error() string { return f.text }

// Unwrap gives the kind and, where there is one, the cause.
func (f *fault) Unwrap() []error {
	if f.cause == nil {
		return []error{f.kind}
	}
	return []error{f.kind, f.cause}
}

// bad says what is wrong with something entered.
func bad(format string, args ...any) error {
	return &fault{kind: ErrInput, text: "harvest: " + fmt.Sprintf(format, args...)}
}

// own are the errors that are answers and not faults of the database.
var own = []error{ErrNone, ErrRight, ErrStale, ErrLink, ErrSignIn, ErrInput, ErrTooLarge, ErrBusy, ErrDeleted, ErrStorage, ErrDatabase, ErrBackup,
	context.Canceled, context.DeadlineExceeded}

// databaseFault turns an error of the engine into a sentence; the log's own answers pass.
func databaseFault(err error) error {
	if err == nil {
		return nil
	}
	for _, known := range own {
		if errors.Is(err, known) {
			return err
		}
	}
	text := fmt.Sprintf("harvest: the log's database does not answer or cannot be written; nothing was changed, try again (%v)", err)
	if diskFull(err) {
		text = fmt.Sprintf("harvest: the disk of the log's database is full; nothing was changed, free some space and try again (%v)", err)
	}
	return &fault{kind: ErrDatabase, text: text, cause: err}
}

// storageFault says that a photo was not kept.
func storageFault(err error) error {
	text := fmt.Sprintf("harvest: the photo could not be stored; nothing was kept, send it again later (%v)", err)
	if diskFull(err) {
		text = "harvest: the disk for the photos is full; nothing was kept, free some space and send the photo again"
	}
	return &fault{kind: ErrStorage, text: text, cause: err}
}

func diskFull(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) || sqliteFull(err) || postgresFull(err)
}
