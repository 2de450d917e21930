package harvest

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	_ "gocloud.dev/blob/memblob" // registers mem
)

// s3Env names the program of a server that speaks S3: github.com/versity/versitygw, which make test-all builds.
const s3Env = "GRISTMARK_S3_SERVER"

// TestPhotosInAnObjectStore takes a log whose photos lie in a bucket through its whole life: in memory always, and
// on a real server where GRISTMARK_S3_SERVER names one.
func TestPhotosInAnObjectStore(t *testing.T) {
	t.Run("memory", func(t *testing.T) { inABucket(t, "mem://") })
	if program := os.Getenv(s3Env); program != "" {
		t.Run("s3", func(t *testing.T) { inABucket(t, startS3(t, program)) })
	} else {
		t.Log(s3Env + " names no server: make test-all runs this test on one that speaks S3")
	}
}

func inABucket(t *testing.T, photos string) {
	opt, late := newOptions(t, "sqlite")
	opt.Photos = photos
	r := rigOf(t, opt, late)
	if err := r.Ping(r.ctx); err != nil {
		t.Fatal(err)
	}
	load := r.load(Settings{})
	large := "photo " + strings.Repeat("0123456789", 900_000) // of several parts
	p := must(first(r.adviser.Upload(r.ctx, load.ID, "k", "a.jpg", strings.NewReader(large), 0)))(t)
	if want := fmt.Sprintf("%x", sha256.Sum256([]byte(large))); p.SHA256 != want || p.Bytes != int64(len(large)) {
		t.Errorf("it is kept with %d bytes, SHA-256 %s", p.Bytes, p.SHA256)
	}
	if _, _, err := r.adviser.Upload(r.ctx, load.ID, "too large", "a.jpg", strings.NewReader(large), 1000); err == nil {
		t.Error("a photo that is too large is taken")
	}
	r.measuring(&fake{version: "1"})
	r.settle()
	if s := text(t, must(r.adviser.OpenPhoto(r.ctx, p.ID))(t)); s != large {
		t.Errorf("the photo came back with %d bytes of %d", len(s), len(large))
	}
	text(t, must(r.adviser.OpenOverlay(r.ctx, p.ID))(t))
	must(r.store.put(r.ctx, "photo/"+newToken(), strings.NewReader("orphan"), 0, "x"))(t)
	r.late.add(2 * orphanAge)
	if n := must(r.Sweep(r.ctx))(t); n != 1 {
		t.Errorf("%d files were swept: the orphan, and nothing of the photo that was too large", n)
	}
	backup := r.backup()
	folder, late2 := newOptions(t, "sqlite")
	same(t, parts(t, backup), parts(t, restored(t, backup, folder, late2).backup()))
	if err := Verify(r.ctx, bytes.NewReader(backup)); err != nil {
		t.Error(err)
	}
	if err := r.adviser.DropPhoto(r.ctx, p.ID); err != nil {
		t.Fatal(err)
	}
	if _, err := r.store.read(r.ctx, r.onlyKey(t, backup)); err == nil {
		t.Error("a deleted photo can still be read")
	}
}

func first[A any](a A, _ bool, err error) (A, error) { return a, err }

// onlyKey is the key of the photo in a backup of one.
func (r *rig) onlyKey(t *testing.T, backup []byte) string {
	for name := range parts(t, backup) {
		if key, ok := strings.CutPrefix(name, blobFolder); ok && strings.HasPrefix(key, "photo/") {
			return key
		}
	}
	t.Fatal("the backup holds no photo")
	return ""
}

// startS3 starts the server on a folder of its own and returns the address of a bucket.
func startS3(t *testing.T, program string) string {
	dir := t.TempDir()
	if err := os.MkdirAll(filepath.Join(dir, "photos"), 0o700); err != nil {
		t.Fatal(err)
	}
	listener := must(net.Listen("tcp", "127.0.0.1:0"))(t)
	address := listener.Addr().String()
	listener.Close()
	ctx, cancel := context.WithCancel(context.Background())
	cmd := exec.CommandContext(ctx, program, "--port", address, "--access", "tester", "--secret", "testing secret", "--quiet", "posix", "--sidecar", t.TempDir(), dir)
	var said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &said, &said
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cancel(); _ = cmd.Wait() })
	for until := time.Now().Add(20 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		if resp, err := http.Get("http://" + address); err == nil {
			resp.Body.Close()
			break
		}
		if time.Now().After(until) {
			t.Fatalf("the S3 server does not answer: %s", said.String())
		}
	}
	t.Setenv("AWS_ACCESS_KEY_ID", "tester")
	t.Setenv("AWS_SECRET_ACCESS_KEY", "testing secret")
	t.Setenv("AWS_EC2_METADATA_DISABLED", "true")
	query := url.Values{"endpoint": {"http://" + address}, "region": {"us-east-1"}, "use_path_style": {"true"}}
	return "s3://photos?" + query.Encode()
}
