package harvest

import (
	"archive/tar"
	"bufio"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
)

// ErrBackup is a backup that is broken, not whole, or of a newer program.
var ErrBackup = errors.New("harvest: the backup is broken")

const maxManifest = 256 << 20 // bytes; a part takes about 150

func broken(format string, args ...any) error {
	return &fault{kind: ErrBackup, text: "harvest: the backup is broken: " + fmt.Sprintf(format, args...)}
}

// walk goes through a backup part by part, and at the end compares all with the manifest. Each part is
// handed to visit, which must read it to its end.
func walk(r io.Reader, visit func(name string, r io.Reader) error) (manifest, error) {
	var m manifest
	seen := map[string]part{}
	files := tar.NewReader(r)
	for {
		head, err := files.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return m, broken("it cannot be read on after %d parts (%v); use another", len(seen), err)
		}
		if closing, err := m.read(head.Name, files); closing || err != nil {
			if err != nil {
				return m, err
			}
			continue
		}
		hash := sha256.New()
		n := &counter{w: hash}
		body := io.TeeReader(files, n)
		if err := visit(head.Name, body); err != nil {
			return m, err
		}
		if _, err := io.Copy(io.Discard, body); err != nil {
			return m, broken("%s cannot be read (%v); use another", head.Name, err)
		}
		seen[head.Name] = part{head.Name, n.n, hex.EncodeToString(hash.Sum(nil))}
	}
	return m, m.compare(seen)
}

// read takes the manifest and its seal, after which nothing may follow.
func (m *manifest) read(name string, r io.Reader) (closing bool, err error) {
	text, err := []byte(nil), error(nil)
	if name == manifestName || name == sealName {
		if text, err = io.ReadAll(io.LimitReader(r, maxManifest)); err != nil {
			return true, broken("%s cannot be read (%v); use another", name, err)
		}
	}
	switch {
	case name == manifestName && m.Format == "":
		if err := json.Unmarshal(text, m); err != nil || m.Format != backupFormat {
			return true, broken("its manifest is none of this program's; use another")
		}
		sum := sha256.Sum256(text)
		m.sum = hex.EncodeToString(sum[:])
	case name == sealName && m.Format != "" && !m.sealed:
		if m.sealed = string(text) == m.sum; !m.sealed {
			return true, broken("its manifest is not what was written; use another")
		}
	case m.Format != "":
		return true, broken("something follows the manifest; use another")
	default:
		return false, nil
	}
	return true, nil
}

// counter counts what goes by.
type counter struct {
	w io.Writer
	n int64
}

func (c *counter) Write(p []byte) (int, error) {
	c.n += int64(len(p))
	return c.w.Write(p)
}

func (m manifest) compare(seen map[string]part) error {
	if !m.sealed {
		return broken("it ends before its manifest does, so it is not whole; use another")
	}
	for _, want := range m.Parts {
		got, ok := seen[want.Name]
		if !ok {
			return broken("%s is missing; use another", want.Name)
		}
		if got != want {
			return broken("%s is not what was written (SHA-256 %s, not %s); use another", want.Name, got.SHA256, want.SHA256)
		}
	}
	if len(seen) != len(m.Parts) {
		return broken("it holds %d parts and its manifest names %d; use another", len(seen), len(m.Parts))
	}
	return nil
}

// Verify reads a backup through and tells whether it is whole and unchanged.
func Verify(_ context.Context, r io.Reader) error {
	photos := map[string]string{} // key of the blob: SHA-256 in the table
	found := map[string]bool{}
	m, err := walk(r, func(name string, r io.Reader) error {
		if t, ok := tableOf(name); ok && t.name == "photo" {
			return eachRow(r, func(row map[string]any) error {
				photos[fmt.Sprint(row["blob"])] = fmt.Sprint(row["sha256"])
				return nil
			})
		}
		if key, ok := strings.CutPrefix(name, blobFolder); ok {
			found[key] = true
		}
		return nil
	})
	if err != nil {
		return err
	}
	sums := map[string]string{}
	for _, p := range m.Parts {
		sums[strings.TrimPrefix(p.Name, blobFolder)] = p.SHA256
	}
	for key, sum := range photos {
		if found[key] && sums[key] != sum {
			return broken("a photo is not the one that was uploaded; use another")
		}
	}
	return nil
}

// Restore fills an empty log from a backup, whatever engine it came from. A backup that proves broken leaves
// the log empty.
func Restore(ctx context.Context, r io.Reader, opt Options) error {
	l, err := Open(ctx, opt)
	if err != nil {
		return err
	}
	err = l.restore(ctx, r)
	return errors.Join(err, l.Close(ctx))
}

func (l *Log) restore(ctx context.Context, r io.Reader) (err error) {
	var blobs []string
	defer func() {
		if err != nil {
			err = errors.Join(err, l.store.drop(context.WithoutCancel(ctx), blobs...))
		}
	}()
	return l.inTx(ctx, func(tx *sql.Tx) error {
		if err := empty(ctx, tx); err != nil {
			return err
		}
		filled := map[string]bool{}
		m, err := walk(r, func(name string, r io.Reader) error {
			if key, ok := strings.CutPrefix(name, blobFolder); ok {
				if !safeKey(key) {
					return broken("it names a file %q that cannot be; use another", key)
				}
				blobs = append(blobs, key)
				_, err := l.store.put(ctx, key, r, 0, "application/octet-stream")
				return err
			}
			t, ok := tableOf(name)
			if !ok {
				return broken("it holds a part %q that this program does not know; use the newer program", name)
			}
			filled[t.name] = true
			return t.fill(ctx, tx, r)
		})
		if err != nil {
			return err
		}
		return l.completed(ctx, tx, m, filled)
	})
}

// completed checks that nothing is missing, sets the counters of ids, and queues what was not measured yet.
func (l *Log) completed(ctx context.Context, tx *sql.Tx, m manifest, filled map[string]bool) error {
	provider, err := stepper(l.engine)
	if err != nil {
		return err
	}
	sources := provider.ListSources()
	if newest := sources[len(sources)-1].Version; m.Schema > newest {
		return broken("it is of a newer program (schema %d, this one knows %d); use that", m.Schema, newest)
	}
	for _, t := range tables {
		if !filled[t.name] && t.since <= m.Schema {
			return broken("the table %s is missing; use another", t.name)
		}
		if !t.counted || !l.engine.postgres {
			continue
		}
		_, err := tx.ExecContext(ctx, fmt.Sprintf("SELECT setval(pg_get_serial_sequence('%s', 'id'), (SELECT COALESCE(MAX(id), 0) + 1 FROM %s), false)", t.name, t.name))
		if err != nil {
			return err
		}
	}
	if _, err := tx.ExecContext(ctx, "UPDATE photo SET state = 'waiting' WHERE state = 'measuring'"); err != nil {
		return err
	}
	return l.queueForgotten(ctx, tx)
}

func empty(ctx context.Context, tx *sql.Tx) error {
	for _, t := range tables {
		if t.name == "invitation" { // the first link of a log that nobody has joined yet
			if _, err := tx.ExecContext(ctx, "DELETE FROM invitation WHERE farm_id IS NULL"); err != nil {
				return err
			}
		}
		var n int64
		if err := tx.QueryRowContext(ctx, "SELECT COUNT(*) FROM "+t.name).Scan(&n); err != nil {
			return err
		}
		if n > 0 {
			return bad("a backup is restored only into an empty log, and this one has entries (%s); name a new database and a new folder for the photos", t.name)
		}
	}
	return nil
}

// tableOf tells which table a part such as tables/photo.000001.jsonl is of.
func tableOf(part string) (table, bool) {
	name, ok := strings.CutPrefix(part, tableFolder)
	name, _, more := strings.Cut(name, ".")
	for _, t := range tables {
		if ok && more && strings.HasSuffix(part, ".jsonl") && t.name == name {
			return t, true
		}
	}
	return table{}, false
}

// safeKey tells whether a key is one that the log gives out.
func safeKey(key string) bool {
	kind, token, ok := strings.Cut(key, "/")
	if !ok || kind != "photo" && kind != "overlay" || len(token) != 43 {
		return false
	}
	_, err := base64.RawURLEncoding.DecodeString(token)
	return err == nil
}

// eachRow reads JSON lines; numbers stay whole.
func eachRow(r io.Reader, take func(row map[string]any) error) error {
	in := json.NewDecoder(bufio.NewReaderSize(r, 1<<16))
	in.UseNumber()
	for {
		var row map[string]any
		err := in.Decode(&row)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return broken("a table cannot be read (%v); use another", err)
		}
		if err := take(row); err != nil {
			return err
		}
	}
}

// fill inserts the rows of a table.
func (t table) fill(ctx context.Context, tx *sql.Tx, r io.Reader) error {
	marks := make([]string, len(t.columns))
	for i := range marks {
		marks[i] = fmt.Sprintf("$%d", i+1)
	}
	insert, err := tx.PrepareContext(ctx, fmt.Sprintf("INSERT INTO %s (%s) VALUES (%s)", t.name, strings.Join(t.names(), ", "), strings.Join(marks, ", ")))
	if err != nil {
		return err
	}
	defer insert.Close()
	return eachRow(r, func(row map[string]any) error {
		args := make([]any, len(t.columns))
		for i, c := range t.columns {
			var err error
			if args[i], err = c.value(row); err != nil {
				return err
			}
		}
		_, err := insert.ExecContext(ctx, args...)
		return err
	})
}

// value reads a column from a row of a backup. A column that an older program did not have is left at its zero.
func (c column) value(row map[string]any) (any, error) {
	switch v := row[c.name].(type) {
	case nil:
		if _, there := row[c.name]; there || c.kind == octets {
			return nil, nil
		}
		return map[kind]any{number: int64(0), words: ""}[c.kind], nil
	case json.Number:
		if c.kind == number {
			return v.Int64()
		}
	case string:
		if c.kind == words {
			return v, nil
		}
		if c.kind == octets {
			return base64.StdEncoding.DecodeString(v)
		}
	}
	return nil, broken("its column %s holds a %T; use another", c.name, row[c.name])
}
