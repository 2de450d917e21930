package harvest

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"gocloud.dev/blob"
	"gocloud.dev/blob/fileblob"
	_ "gocloud.dev/blob/s3blob" // registers s3
	"gocloud.dev/gcerrors"
)

// store keeps photos and overlays in a bucket under keys that nobody guesses.
type store struct {
	bucket *blob.Bucket
	dir    string // of a bucket in a folder; empty for others
}

// openStore opens a folder or the URL of a bucket.
func openStore(ctx context.Context, where string) (*store, error) {
	dir, local, err := folderOf(where)
	if err != nil {
		return nil, err
	}
	if !local {
		b, err := blob.OpenBucket(ctx, where)
		if err != nil {
			return nil, fmt.Errorf("harvest: the object store for the photos cannot be opened: %w", err)
		}
		return &store{bucket: b}, nil
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("harvest: the folder for the photos cannot be made: %w", err)
	}
	b, err := fileblob.OpenBucket(dir, &fileblob.Options{NoTempDir: true, Metadata: fileblob.MetadataDontWrite, DirFileMode: 0o700})
	if err != nil {
		return nil, fmt.Errorf("harvest: the folder for the photos cannot be opened: %w", err)
	}
	return &store{bucket: b, dir: dir}, nil
}

// folderOf tells whether where is a folder: a path, or a file:// URL.
func folderOf(where string) (dir string, local bool, err error) {
	if where == "" {
		return "", false, bad("no folder for the photos was given")
	}
	if !strings.Contains(where, "://") {
		dir, err = filepath.Abs(where)
		return dir, true, err
	}
	u, err := url.Parse(where)
	if err != nil {
		return "", false, bad("the address of the photos cannot be read: %v", err)
	}
	return filepath.FromSlash(u.Path), u.Scheme == "file", nil
}

func (s *store) close() error { return s.bucket.Close() }

func (s *store) ping(ctx context.Context) error {
	ok, err := s.bucket.IsAccessible(ctx)
	if err != nil || !ok {
		return &fault{kind: ErrStorage, text: "harvest: the store of the photos does not answer", cause: err}
	}
	return nil
}

// stored is what was written: its size and the hash of its bytes.
type stored struct {
	Bytes  int64
	SHA256 string
}

// put writes r under key, at most limit bytes (0: any number), and returns only once it is on disk.
// After an error nothing lies under the key.
func (s *store) put(ctx context.Context, key string, r io.Reader, limit int64, kind string) (stored, error) {
	writing, abandon := context.WithCancel(ctx)
	defer abandon()
	w, err := s.bucket.NewWriter(writing, key, &blob.WriterOptions{ContentType: kind, DisableContentTypeDetection: true})
	if err != nil {
		return stored{}, storageFault(err)
	}
	hash := sha256.New()
	n, err := copyUpTo(io.MultiWriter(w, hash), r, limit)
	if err != nil {
		abandon()
		_ = w.Close() // a cancelled writer leaves nothing behind
		return stored{}, err
	}
	if err := w.Close(); err != nil {
		return stored{}, storageFault(err)
	}
	if err := s.sync(key); err != nil {
		_ = s.bucket.Delete(ctx, key)
		return stored{}, storageFault(err)
	}
	return stored{n, hex.EncodeToString(hash.Sum(nil))}, nil
}

// copyUpTo copies; more than limit bytes are ErrTooLarge, a sender that breaks off ErrInput, the rest ErrStorage.
func copyUpTo(w io.Writer, r io.Reader, limit int64) (int64, error) {
	var n int64
	buf := make([]byte, 64<<10)
	for {
		got, readErr := r.Read(buf)
		n += int64(got)
		if limit > 0 && n > limit {
			return n, ErrTooLarge
		}
		if _, err := w.Write(buf[:got]); err != nil {
			return n, storageFault(err)
		}
		if errors.Is(readErr, io.EOF) {
			return n, nil
		}
		if readErr != nil {
			return n, &fault{kind: ErrInput, text: "harvest: the photo did not arrive whole; send it again", cause: readErr}
		}
	}
}

// sync brings a file of a folder bucket, and every folder up to the bucket's, to disk: renaming alone does not.
func (s *store) sync(key string) error {
	if s.dir == "" {
		return nil
	}
	path := filepath.Join(s.dir, filepath.FromSlash(key))
	for {
		if err := syncPath(path); err != nil {
			return err
		}
		if path == s.dir || len(path) < len(s.dir) {
			return nil
		}
		path = filepath.Dir(path)
	}
}

func syncPath(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// open reads what lies under key; ErrNone when nothing does.
func (s *store) open(ctx context.Context, key string) (io.ReadCloser, error) {
	r, err := s.bucket.NewReader(ctx, key, nil)
	if gcerrors.Code(err) == gcerrors.NotFound {
		return nil, ErrNone
	}
	if err != nil {
		return nil, &fault{kind: ErrStorage, text: "harvest: the store of the photos does not answer; try again", cause: err}
	}
	return r, nil
}

func (s *store) read(ctx context.Context, key string) ([]byte, error) {
	r, err := s.open(ctx, key)
	if err != nil {
		return nil, err
	}
	data, err := io.ReadAll(r)
	return data, errors.Join(err, r.Close())
}

// drop deletes keys; what is gone already is no error.
func (s *store) drop(ctx context.Context, keys ...string) error {
	var errs error
	for _, key := range keys {
		if err := s.bucket.Delete(ctx, key); err != nil && gcerrors.Code(err) != gcerrors.NotFound {
			errs = errors.Join(errs, err)
		}
	}
	return errs
}
