package harvest

import (
	"archive/tar"
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"
)

// The backup is a tar: the tables as JSON lines, in files of some megabytes; photos and overlays as they lie in the store;
// then the manifest with the SHA-256 of every part, and the manifest's own. It says nothing of the engine that it came from.
const (
	backupFormat = "gristmark.backup/1"
	manifestName = "manifest.json"
	sealName     = "manifest.sha256" // SHA-256 of the manifest, the last part
	tableFolder  = "tables/"
	blobFolder   = "blobs/"
)

// manifest closes a backup: without it, or where it does not fit, the backup is not whole.
type manifest struct {
	Format  string    `json:"format"`
	Schema  int64     `json:"schema"` // version of the log's schema
	Version string    `json:"version"`
	MadeAt  time.Time `json:"made_at"`
	Parts   []part    `json:"parts"`

	sum    string // its SHA-256, when read
	sealed bool   // sum is what the seal says
}

type part struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// table is a table of the log in a backup. Sessions and login attempts are of the running program and stay out.
type table struct {
	name    string
	columns []column
	order   string
	counted bool // has an id that the database gives out

	since int64 // version of the schema that brought it; 0: the first
}

type column struct {
	name string
	kind kind
}

type kind int

const (
	number kind = iota // BIGINT, perhaps null
	words              // TEXT
	octets             // bytes, perhaps null
)

func numbers(names ...string) []column { return columnsOf(number, names) }
func texts(names ...string) []column   { return columnsOf(words, names) }
func bytesIn(names ...string) []column { return columnsOf(octets, names) }

func columnsOf(k kind, names []string) []column {
	out := make([]column, len(names))
	for i, n := range names {
		out[i] = column{n, k}
	}
	return out
}

func join(lists ...[]column) (out []column) {
	for _, l := range lists {
		out = append(out, l...)
	}
	return out
}

// tables in an order in which they can be filled.
var tables = []table{
	{name: "account", columns: join(numbers("id", "made_at"), texts("name", "name_key", "password")), order: "id", counted: true},
	{name: "farm", columns: join(numbers("id", "made_at"), texts("name")), order: "id", counted: true},
	{name: "member", columns: join(numbers("farm_id", "account_id"), texts("role")), order: "farm_id, account_id"},
	{name: "invitation", columns: join(numbers("id", "farm_id", "expires_at"), texts("hash", "role", "made_by")), order: "id", counted: true},
	{name: "harvest", columns: join(numbers("id", "farm_id", "made_at"), texts("name", "crop", "targets")), order: "id", counted: true},
	{name: "crew_link", columns: join(numbers("id", "harvest_id", "made_at", "expires_at", "revoked_at"), texts("label", "hash", "made_by")), order: "id", counted: true},
	{name: "api_token", columns: join(numbers("id", "account_id", "made_at", "expires_at"), texts("label", "hash")), order: "id", counted: true},
	{name: "load", columns: join(numbers("id", "harvest_id", "at", "at_given", "version", "wanted", "judged"),
		texts("name", "field", "hybrid", "process", "settings", "search", "by_name", "thin"), bytesIn("document")), order: "id", counted: true},
	{name: "photo", columns: join(numbers("load_id", "bytes", "uploaded_at", "run", "poison"),
		texts("id", "blob", "file", "sha256", "by_name", "uploader", "upload_key", "state", "problem")), order: "uploaded_at, id"},
	{name: "dropped_upload", columns: join(numbers("at"), texts("uploader", "upload_key")), order: "uploader, upload_key", since: 2},
	{name: "measurement", columns: join(numbers("id", "run", "at"), texts("photo_id", "version", "overlay"), bytesIn("photo", "keep")), order: "id", counted: true},
	{name: "correction", columns: join(numbers("measurement_id", "particle", "at"), texts("class", "by_name")), order: "measurement_id, particle"},
	{name: "typed", columns: join(numbers("id", "load_id", "at"), texts("kind", "fields", "by_name")), order: "id", counted: true},
	{name: "change", columns: join(numbers("id", "farm_id", "at"), texts("by_name", "what", "object", "detail")), order: "id", counted: true},
}

// backup is a backup being written.
type backup struct {
	tar   *tar.Writer
	parts []part
	now   time.Time
}

// Backup writes the whole log, as it is at one moment, while it goes on being used.
func (l *Log) Backup(ctx context.Context, w io.Writer) error {
	b := &backup{tar: tar.NewWriter(w), now: l.now()}
	var blobs []string
	m := manifest{Format: backupFormat, Version: l.opt.Version, MadeAt: b.now}
	err := l.inView(ctx, func(tx *sql.Tx) error {
		if err := tx.QueryRowContext(ctx, "SELECT MAX(version_id) FROM goose_db_version").Scan(&m.Schema); err != nil {
			return err
		}
		for _, t := range tables {
			if err := b.addTable(ctx, tx, t); err != nil {
				return err
			}
		}
		var err error
		blobs, err = blobsOf(ctx, tx, "1 = $1", 1)
		return err
	})
	if err != nil {
		return err
	}
	for _, key := range blobs {
		if err := l.addBlob(ctx, b, key); err != nil {
			return err
		}
	}
	m.Parts = b.parts
	text, err := json.MarshalIndent(m, "", " ")
	if err != nil {
		return fmt.Errorf("harvest: %w", err)
	}
	sum := sha256.Sum256(text)
	seal := hex.EncodeToString(sum[:])
	if err := b.add(manifestName, int64(len(text)), bytes.NewReader(text)); err != nil {
		return err
	}
	if err := b.add(sealName, int64(len(seal)), strings.NewReader(seal)); err != nil {
		return err
	}
	if err := b.tar.Close(); err != nil {
		return backupFault(err)
	}
	return nil
}

// addBlob adds a file of the store; one that was deleted since the tables were read is left out and so are its rows' promises.
func (l *Log) addBlob(ctx context.Context, b *backup, key string) error {
	attrs, err := l.store.bucket.Attributes(ctx, key)
	if err == nil {
		var r io.ReadCloser
		if r, err = l.store.open(ctx, key); err == nil {
			return errors.Join(b.add(blobFolder+key, attrs.Size, r), r.Close())
		}
	}
	known, err2 := l.knows(ctx, key)
	if err2 == nil && !known {
		return nil // deleted meanwhile
	}
	return errors.Join(fmt.Errorf("harvest: the backup is not whole: the file of a photo cannot be read: %w", err), err2)
}

// maxPart is about how large a part of a table gets, for it is held in memory: a tar wants to know sizes first.
const maxPart = 8 << 20

// addTable adds a table in parts that follow each other.
func (b *backup) addTable(ctx context.Context, q querier, t table) error {
	var buf bytes.Buffer
	n := 0
	flush := func() error {
		name := fmt.Sprintf("%s%s.%06d.jsonl", tableFolder, t.name, n)
		n++
		err := b.add(name, int64(buf.Len()), bytes.NewReader(buf.Bytes()))
		buf.Reset()
		return err
	}
	out := json.NewEncoder(&buf)
	err := each(ctx, q, func(r *sql.Rows) error {
		row, err := t.scan(r)
		if err == nil {
			err = out.Encode(row)
		}
		if err == nil && buf.Len() >= maxPart {
			err = flush()
		}
		return err
	}, t.selecting())
	if err != nil {
		return err
	}
	return flush()
}

func (t table) selecting() string {
	return "SELECT " + strings.Join(t.names(), ", ") + " FROM " + t.name + " ORDER BY " + t.order
}

func (t table) names() []string {
	out := make([]string, len(t.columns))
	for i, c := range t.columns {
		out[i] = c.name
	}
	return out
}

// scan reads a row as a map that JSON keeps exactly: numbers as int64, bytes in base 64.
func (t table) scan(r *sql.Rows) (map[string]any, error) {
	into := make([]any, len(t.columns))
	for i, c := range t.columns {
		switch c.kind {
		case number:
			into[i] = new(sql.NullInt64)
		case words:
			into[i] = new(string)
		case octets:
			into[i] = new([]byte)
		}
	}
	if err := r.Scan(into...); err != nil {
		return nil, err
	}
	row := make(map[string]any, len(into))
	for i, c := range t.columns {
		switch v := into[i].(type) {
		case *sql.NullInt64:
			if row[c.name] = nil; v.Valid {
				row[c.name] = v.Int64
			}
		case *string:
			row[c.name] = *v
		case *[]byte:
			if row[c.name] = nil; *v != nil {
				row[c.name] = *v
			}
		}
	}
	return row, nil
}

func backupFault(err error) error {
	return &fault{kind: ErrStorage, text: fmt.Sprintf("harvest: the backup cannot be written; make room for it or write it elsewhere (%v)", err), cause: err}
}

// add writes one part and notes its hash.
func (b *backup) add(name string, size int64, r io.Reader) error {
	head := &tar.Header{Name: name, Size: size, Mode: 0o600, ModTime: b.now, Format: tar.FormatPAX}
	if err := b.tar.WriteHeader(head); err != nil {
		return backupFault(err)
	}
	hash := sha256.New()
	n, err := io.Copy(io.MultiWriter(b.tar, hash), r)
	if err != nil {
		return backupFault(err)
	}
	b.parts = append(b.parts, part{name, n, hex.EncodeToString(hash.Sum(nil))})
	return nil
}
