package harvest

import (
	"context"
	"errors"
	"io"
)

// Sweep deletes files of uploads that never came through: those that no row points to, an hour after they were written.
func (l *Log) Sweep(ctx context.Context) (n int, err error) {
	old := l.now().Add(-orphanAge)
	list := l.store.bucket.List(nil)
	for {
		obj, err := list.Next(ctx)
		if errors.Is(err, io.EOF) {
			return n, nil
		}
		if err != nil {
			return n, storageFault(err)
		}
		if obj.IsDir || obj.ModTime.After(old) {
			continue
		}
		if _, flies := l.flying.Load(obj.Key); flies {
			continue
		}
		known, err := l.knows(ctx, obj.Key)
		if err != nil {
			return n, err
		}
		if known {
			continue
		}
		if err := l.store.drop(ctx, obj.Key); err != nil {
			return n, storageFault(err)
		}
		n++
	}
}

func (l *Log) knows(ctx context.Context, key string) (bool, error) {
	var n int
	err := l.engine.read.QueryRowContext(ctx, "SELECT (SELECT COUNT(*) FROM photo WHERE blob = $1) + (SELECT COUNT(*) FROM measurement WHERE overlay = $1)", key).Scan(&n)
	return n > 0, databaseFault(err)
}
