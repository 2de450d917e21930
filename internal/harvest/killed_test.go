package harvest

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"
)

// The test runs itself once more as a process that uploads and measures, and kills that one again and again.
const (
	childEnv   = "GRISTMARK_KILLED_CHILD" // database, photos, first key, account, harvest, a line each
	killsEnv   = "GRISTMARK_KILLS"
	everyKills = 2 // in everyday tests
)

// TestKilledAtAnyPoint checks that no acknowledged upload is lost and none measured twice in effect, however
// often the process is killed. GRISTMARK_KILLS says how often; 2 unless told.
func TestKilledAtAnyPoint(t *testing.T) {
	t.Parallel()
	onBoth(t, killedAtAnyPoint)
}

func killedAtAnyPoint(t *testing.T, r *rig) {
	kills := everyKills
	if n, err := strconv.Atoi(os.Getenv(killsEnv)); err == nil {
		kills = n
	}
	chance := rand.New(rand.NewPCG(1, uint64(kills)))
	acknowledged := map[string]string{} // key: ID
	for kill := range kills {
		after := time.Duration(chance.IntN(700)) * time.Millisecond
		before := len(acknowledged)
		r.runAndKill(len(acknowledged), after, acknowledged)
		t.Logf("kill %d, %v after the start: %d uploads acknowledged", kill+1, after, len(acknowledged)-before)
	}
	if len(acknowledged) == 0 { // killed too soon each time on a slow machine
		r.runAndKill(0, 5*time.Second, acknowledged)
	}
	r.measuring(&fake{version: "1"})
	r.settle()
	must(r.adviser.Remeasure(r.ctx, r.harvest.ID))(t) // a photo that several kills hit in a row is left alone until asked for
	r.settle()
	r.checkAll(acknowledged)
}

// runAndKill starts the child, takes down what it acknowledges, and kills it.
func (r *rig) runAndKill(first int, after time.Duration, acknowledged map[string]string) {
	t := r.t
	cmd := exec.CommandContext(r.ctx, os.Args[0], "-test.run=^$")
	cmd.Env = append(os.Environ(), fmt.Sprintf("%s=%s\n%s\n%d\n%d\n%d", childEnv, r.opt.Database, r.opt.Photos, first, r.adviser.who.AccountID, r.harvest.ID))
	var said bytes.Buffer
	cmd.Stderr = &said
	out := must(cmd.StdoutPipe())(t)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	time.AfterFunc(after, func() { _ = cmd.Process.Kill() })
	lines := bufio.NewReader(out)
	for {
		line, err := lines.ReadString('\n')
		if err != nil {
			break // half a line is no acknowledgement
		}
		key, id, _ := strings.Cut(strings.TrimSpace(line), " ")
		acknowledged[key] = id
	}
	_ = cmd.Wait()
	if said.Len() > 0 {
		t.Errorf("the process that was killed said: %s", said.String())
	}
}

// checkAll looks for every acknowledged upload: its bytes, one measurement, one judgement with it.
func (r *rig) checkAll(acknowledged map[string]string) {
	t := r.t
	for key, id := range acknowledged {
		want := bytesOf(key)
		rc, err := r.adviser.OpenPhoto(r.ctx, id)
		if err != nil {
			t.Fatalf("the acknowledged upload %s is lost: %v", key, err)
		}
		got := must(io.ReadAll(rc))(t)
		_ = rc.Close()
		if !bytes.Equal(got, want) {
			t.Errorf("the upload %s has other bytes", key)
		}
		if m := must(r.adviser.Measurements(r.ctx, id))(t); len(m) != 1 || m[0].Photo.SHA256 != fmt.Sprintf("%x", sha256.Sum256(want)) {
			t.Errorf("the upload %s was measured %d times", key, len(m))
		}
		load := must(r.adviser.Photo(r.ctx, id))(t).LoadID
		if again, repeated, err := r.adviser.Upload(r.ctx, load, key, "a.jpg", bytes.NewReader(want), 0); err != nil || !repeated || again.ID != id {
			t.Errorf("the upload %s sent again gave %s, %v, %v", key, again.ID, repeated, err)
		}
	}
	photos := 0
	for _, load := range must(r.adviser.Loads(r.ctx, r.harvest.ID, Filter{WithPhotos: true}))(t) {
		photos += len(load.Photos)
		if len(load.Photos) == 0 {
			continue
		}
		if load.Document == nil || len(load.Document.Photos) != len(load.Photos) {
			t.Errorf("load %d is not judged by all of its %d photos", load.ID, len(load.Photos))
		}
	}
	// One upload each time may have come through without the acknowledgement.
	if photos < len(acknowledged) {
		t.Errorf("the log has %d photos of %d acknowledged", photos, len(acknowledged))
	}
	t.Logf("%d acknowledged, %d in the log", len(acknowledged), photos)
}

// bytesOf are the bytes that an upload with this key has: 1 to 100 kB.
func bytesOf(key string) []byte {
	seed := sha256.Sum256([]byte(key))
	chance := rand.NewChaCha8(seed)
	data := make([]byte, 1000+chance.Uint64()%100_000)
	_, _ = chance.Read(data)
	return append([]byte("photo "), data...)
}

// child uploads and measures until it is killed.
func child(setup string) int {
	if err := childRun(setup); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

func childRun(setup string) error {
	part := strings.Split(setup, "\n")
	if len(part) != 5 {
		return errors.New("five lines are needed")
	}
	first, err1 := strconv.Atoi(part[2])
	account, err2 := strconv.ParseInt(part[3], 10, 64)
	harvest, err3 := strconv.ParseInt(part[4], 10, 64)
	if err := errors.Join(err1, err2, err3); err != nil {
		return err
	}
	ctx := context.Background()
	l, err := Open(ctx, Options{Database: part[0], Photos: part[1], Version: "1"})
	if err != nil {
		return err
	}
	failed := make(chan error, 1)
	go func() { failed <- l.Run(ctx, &fake{version: "1", pause: 5 * time.Millisecond}, 2) }()
	desk := l.Desk(Who{AccountID: account})
	var load Load
	for n := 0; ; n++ {
		select {
		case err := <-failed:
			return err
		default:
		}
		if n%20 == 0 {
			if load, err = desk.AddLoad(ctx, Load{HarvestID: harvest}); err != nil {
				return err
			}
		}
		key := fmt.Sprintf("key-%d", first+n)
		photo, _, err := desk.Upload(ctx, load.ID, key, "a.jpg", bytes.NewReader(bytesOf(key)), 0)
		if err != nil {
			return err
		}
		fmt.Println(key, photo.ID)
	}
}
