package harvest

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"gristmark/internal/harvest/pgtest"
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(childEnv); dir != "" {
		os.Exit(child(dir))
	}
	realCost = passwordCost
	passwordCost = argon{time: 1, memoryKiB: 64, lanes: 1} // most tests are about something else
	code := m.Run()
	if server != nil {
		if err := server.Stop(); err != nil {
			fmt.Fprintln(os.Stderr, err)
			code = 1
		}
	}
	os.Exit(code)
}

// realCost is what a password costs outside these tests.
var realCost argon

// server is the PostgreSQL of this run, started by the first test that asks for one.
var (
	server    *pgtest.Server
	migrated  string // a database with the newest schema and nothing in it, to copy
	startOnce = sync.OnceValue(startServer)
)

func startServer() (err error) {
	if server, err = pgtest.Start(); err != nil {
		return err
	}
	if migrated, err = server.Database(context.Background()); err != nil {
		return err
	}
	e, err := openEngine(migrated)
	if err != nil {
		return err
	}
	return errors.Join(migrate(context.Background(), e), e.close())
}

// postgresURL is the address of a fresh database with the newest schema.
func postgresURL(t *testing.T) string {
	t.Helper()
	if err := startOnce(); err != nil {
		t.Fatal(err)
	}
	return must(server.Copy(t.Context(), migrated))(t)
}

// engines are what every test of the log runs on.
var engines = []string{"sqlite", "postgres"}

// onBoth runs a test on a fresh log on each engine.
func onBoth(t *testing.T, test func(t *testing.T, r *rig)) {
	for _, engine := range engines {
		t.Run(engine, func(t *testing.T) {
			t.Parallel()
			opt, late := newOptions(t, engine)
			test(t, rigOf(t, opt, late))
		})
	}
}

// rig is a log with an adviser and a harvest.
type rig struct {
	*Log
	t       *testing.T
	ctx     context.Context
	opt     Options
	adviser *Desk
	farm    Farm
	harvest Harvest
	late    *clock // how far the log's clock is ahead
}

// clock is how far a log's time is ahead.
type clock struct{ by atomic.Int64 }

func (c *clock) add(d time.Duration)  { c.by.Add(int64(d)) }
func (c *clock) ahead() time.Duration { return time.Duration(c.by.Load()) }

// newOptions returns the options of a fresh log.
func newOptions(t *testing.T, engine string) (Options, *clock) {
	dir, late := t.TempDir(), new(clock)
	opt := Options{Database: "sqlite:" + filepath.Join(dir, "log.db"), Photos: filepath.Join(dir, "photos"), Version: "1",
		Logger: slog.New(slog.NewTextHandler(t.Output(), nil)),
		Clock:  func() time.Time { return time.Now().Add(late.ahead()) }}
	if engine == "postgres" {
		opt.Database = postgresURL(t)
	}
	return opt, late
}

const adviserPassword = "long enough 1"

func rigOf(t *testing.T, opt Options, late *clock) *rig {
	t.Helper()
	r := &rig{t: t, ctx: t.Context(), opt: opt, late: late}
	r.Log = must(Open(r.ctx, opt))(t)
	t.Cleanup(func() { _ = r.Close(context.Background()) })
	token, needed, err := r.FirstLink(r.ctx)
	if err != nil || !needed {
		t.Fatalf("first link: needed %v, %v", needed, err)
	}
	r.adviser = r.Desk(must(r.Join(r.ctx, token, "Ada Adviser", adviserPassword))(t))
	r.farm = must(r.adviser.AddFarm(r.ctx, "North Farm"))(t)
	r.harvest = must(r.adviser.AddHarvest(r.ctx, Harvest{FarmID: r.farm.ID, Name: "Bunker 1", Targets: "default"}))(t)
	return r
}

// must fails the test on an error and else passes the value on.
func must[T any](v T, err error) func(*testing.T) T {
	return func(t *testing.T) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func (r *rig) load(s Settings) Load {
	r.t.Helper()
	return must(r.adviser.AddLoad(r.ctx, Load{HarvestID: r.harvest.ID, Settings: s}))(r.t)
}

func (r *rig) upload(load int64, key, data string) Photo {
	r.t.Helper()
	p, again, err := r.adviser.Upload(r.ctx, load, key, "IMG_1.jpg", strings.NewReader(data), 1<<20)
	if err != nil || again {
		r.t.Fatalf("upload: again %v, %v", again, err)
	}
	return p
}

// joined makes an account with a role on the rig's farm.
func (r *rig) joined(name string, role Role) *Desk {
	r.t.Helper()
	token := must(r.adviser.Invite(r.ctx, r.farm.ID, role, time.Hour))(r.t)
	return r.Desk(must(r.Join(r.ctx, token, name, "long enough 2"))(r.t))
}

// measuring runs the queue until the test or stop ends it.
func (r *rig) measuring(m Measurer) (stop func()) {
	ctx, cancel := context.WithCancel(r.ctx)
	done := make(chan error, 1)
	go func() { done <- r.Run(ctx, m, 2) }()
	var once sync.Once
	stop = func() {
		once.Do(func() {
			cancel()
			if err := <-done; err != nil {
				r.t.Errorf("run: %v", err)
			}
		})
	}
	r.t.Cleanup(stop)
	for r.measurer.Load() == nil && len(done) == 0 {
		time.Sleep(time.Millisecond)
	}
	return stop
}

// settle waits until nothing is queued any more, as long as it goes forward.
func (r *rig) settle() {
	r.t.Helper()
	var last Stats
	for until := time.Now().Add(patienceLimit); time.Now().Before(until); time.Sleep(20 * time.Millisecond) {
		s := must(r.Queue(r.ctx))(r.t)
		if s.Waiting+s.Measuring+s.Judging == 0 {
			return
		}
		if s != last {
			last, until = s, time.Now().Add(patienceLimit)
		}
	}
	r.t.Fatalf("the queue does not settle: %+v", last)
}

// patienceLimit is how long a test waits without anything going forward.
const patienceLimit = 30 * time.Second

func text(t *testing.T, r io.ReadCloser) string {
	t.Helper()
	defer r.Close()
	return string(must(io.ReadAll(r))(t))
}
