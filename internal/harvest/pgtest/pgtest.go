// Package pgtest runs a PostgreSQL of its own for tests: a new cluster in a temporary folder, under a user
// without rights where the tests run as root, reached through a socket in that folder alone.
package pgtest

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"runtime"
	"sort"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib" // registers pgx
)

const startWithin = time.Minute

// Server is a running cluster.
type Server struct {
	dir  string
	user *user.User
	as   *syscall.Credential // nil: as this process
	cmd  *exec.Cmd
	done chan error
	made atomic.Int64
}

// Start makes a cluster and starts its server. Stop ends it and deletes the cluster; the server also ends
// when this process does, however that happens.
func Start() (*Server, error) {
	bin, err := binaries()
	if err != nil {
		return nil, err
	}
	s := &Server{done: make(chan error, 1)}
	if err := s.chooseUser(); err != nil {
		return nil, err
	}
	// Not TMPDIR: another user must be able to go there, and a socket's path is short.
	if s.dir, err = os.MkdirTemp("/tmp", "gristmark-pg-"); err != nil {
		return nil, err
	}
	if err := s.start(bin); err != nil {
		return nil, errors.Join(err, s.Stop())
	}
	return s, nil
}

// binaries finds the folder of initdb and postgres: Debian does not put them on the path.
func binaries() (string, error) {
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	if err != nil {
		return "", err
	}
	sort.Slice(found, func(i, j int) bool { return release(found[i]) < release(found[j]) })
	if len(found) > 0 {
		return filepath.Dir(found[len(found)-1]), nil
	}
	path, err := exec.LookPath("initdb")
	if err != nil {
		return "", errors.New("pgtest: there is no PostgreSQL; run scripts/setup.sh test, which installs Debian's postgresql")
	}
	if path, err = filepath.EvalSymlinks(path); err != nil {
		return "", err
	}
	return filepath.Dir(path), nil
}

func release(path string) int {
	n, _ := strconv.Atoi(filepath.Base(filepath.Dir(filepath.Dir(path))))
	return n
}

// chooseUser picks postgres or nobody where the tests run as root: initdb refuses root.
func (s *Server) chooseUser() error {
	if os.Geteuid() != 0 {
		var err error
		s.user, err = user.Current()
		return err
	}
	for _, name := range []string{"postgres", "nobody"} {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		uid, err1 := strconv.ParseUint(u.Uid, 10, 32)
		gid, err2 := strconv.ParseUint(u.Gid, 10, 32)
		if err := errors.Join(err1, err2); err != nil {
			return err
		}
		s.user, s.as = u, &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
		return nil
	}
	return errors.New("pgtest: there is neither a user postgres nor nobody to run PostgreSQL as")
}

func (s *Server) start(bin string) error {
	if s.as != nil {
		if err := os.Chown(s.dir, int(s.as.Uid), int(s.as.Gid)); err != nil {
			return err
		}
	}
	data := filepath.Join(s.dir, "data")
	init := s.command(filepath.Join(bin, "initdb"), "-D", data, "-U", "tester", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync")
	if out, err := init.CombinedOutput(); err != nil {
		return fmt.Errorf("pgtest: initdb: %w: %s", err, out)
	}
	return s.serve(bin)
}

// serve starts the server on the cluster that is there.
func (s *Server) serve(bin string) error {
	log, err := os.Create(filepath.Join(s.dir, "log"))
	if err != nil {
		return err
	}
	defer log.Close()
	s.cmd = s.command(filepath.Join(bin, "postgres"), "-D", filepath.Join(s.dir, "data"), "-k", s.dir, "-c", "listen_addresses=",
		"-c", "fsync=off", "-c", "full_page_writes=off", "-c", "max_connections=200", "-c", "shared_buffers=64MB")
	s.cmd.Stdout, s.cmd.Stderr = log, log
	begun := make(chan error)
	go func() {
		runtime.LockOSThread() // the death signal comes when the thread ends that started the server
		defer runtime.UnlockOSThread()
		err := s.cmd.Start()
		begun <- err
		if err == nil {
			s.done <- s.cmd.Wait()
		}
	}()
	if err := <-begun; err != nil {
		s.cmd = nil
		return err
	}
	return s.await()
}

func (s *Server) command(name string, args ...string) *exec.Cmd {
	cmd := exec.Command(name, args...)
	cmd.Dir = s.dir
	cmd.Env = []string{"PATH=/usr/bin:/bin", "LC_ALL=C", "TZ=UTC"}
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: s.as, Pdeathsig: syscall.SIGQUIT}
	return cmd
}

// await waits until the server answers.
func (s *Server) await() error {
	db, err := sql.Open("pgx", s.URL("postgres"))
	if err != nil {
		return err
	}
	defer db.Close()
	ctx, cancel := context.WithTimeout(context.Background(), startWithin)
	defer cancel()
	for {
		if err = db.PingContext(ctx); err == nil {
			return nil
		}
		if ctx.Err() != nil {
			said, _ := os.ReadFile(filepath.Join(s.dir, "log"))
			return fmt.Errorf("pgtest: PostgreSQL does not answer: %w: %s", err, said)
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// URL is the address of a database of the cluster.
func (s *Server) URL(database string) string {
	u := url.URL{Scheme: "postgres", Path: "/" + database, RawQuery: url.Values{"host": {s.dir}, "user": {"tester"}}.Encode()}
	return u.String()
}

// Database makes an empty database and returns its address.
func (s *Server) Database(ctx context.Context) (string, error) { return s.make(ctx, "") }

// Copy makes a copy of a database that nobody is connected to, and returns its address.
func (s *Server) Copy(ctx context.Context, address string) (string, error) {
	u, err := url.Parse(address)
	if err != nil {
		return "", err
	}
	return s.make(ctx, " TEMPLATE "+strings.TrimPrefix(u.Path, "/"))
}

func (s *Server) make(ctx context.Context, like string) (string, error) {
	db, err := sql.Open("pgx", s.URL("postgres"))
	if err != nil {
		return "", err
	}
	defer db.Close()
	name := fmt.Sprintf("test%d", s.made.Add(1))
	if _, err := db.ExecContext(ctx, "CREATE DATABASE "+name+like); err != nil {
		return "", err
	}
	return s.URL(name), nil
}

// Kill ends the server at once, as a failure of its machine would. The cluster stays until Stop.
func (s *Server) Kill() error {
	if s.cmd == nil {
		return nil
	}
	err := s.cmd.Process.Signal(syscall.SIGQUIT)
	<-s.done
	s.cmd = nil
	return err
}

// Restart starts the server again after Kill.
func (s *Server) Restart() error {
	bin, err := binaries()
	if err != nil {
		return err
	}
	return s.serve(bin)
}

// Stop ends the server and deletes the cluster.
func (s *Server) Stop() error {
	return errors.Join(s.Kill(), os.RemoveAll(s.dir))
}
