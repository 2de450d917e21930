package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"time"
)

// server is a running gristmark on a folder.
type server struct {
	cmd  *exec.Cmd
	url  string
	join string // one-time link; empty once there is an account
	log  *os.File
	peak atomic.Int64 // highest memory of the server and its children together, KB
}

var (
	servesAt  = regexp.MustCompile(`serves (http://\S+)`)
	firstLink = regexp.MustCompile(`first account: (\S+)`)
)

// start runs the program on two processors and waits until it answers.
func start(ctx context.Context, program, data string) (*server, error) {
	program, err := filepath.Abs(program)
	if err != nil {
		return nil, err
	}
	words := []string{program, "serve", "--data", data, "--listen", "127.0.0.1:0"}
	if taskset, err := exec.LookPath("taskset"); err == nil {
		words = append([]string{taskset, "-c", "0,1"}, words...)
	}
	s := &server{cmd: exec.Command(words[0], words[1:]...)}
	if s.log, err = os.OpenFile(filepath.Join(data, "..", "server.log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600); err != nil {
		return nil, err
	}
	s.cmd.Stderr = s.log
	out, err := s.cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := s.cmd.Start(); err != nil {
		return nil, err
	}
	lines := bufio.NewScanner(out)
	for s.url == "" && lines.Scan() {
		if m := servesAt.FindStringSubmatch(lines.Text()); m != nil {
			s.url = m[1]
		}
	}
	linked := make(chan string, 1)
	go func() {
		for lines.Scan() {
			if m := firstLink.FindStringSubmatch(lines.Text()); m != nil {
				linked <- m[1]
			}
		}
		close(linked)
	}()
	for range 600 {
		if res, err := http.Get(s.url + "/healthz"); err == nil {
			res.Body.Close()
			if res.StatusCode == http.StatusOK {
				select {
				case s.join = <-linked:
				case <-time.After(300 * time.Millisecond):
				}
				return s, nil
			}
		}
		if ctx.Err() != nil {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	return nil, errors.Join(errors.New("the server does not answer; see "+s.log.Name()), s.kill())
}

// kill ends the server as a loss of power would.
func (s *server) kill() error {
	_ = s.cmd.Process.Kill()
	_ = s.cmd.Wait()
	return s.log.Close()
}

// stop asks it to end in order.
func (s *server) stop() error {
	_ = s.cmd.Process.Signal(syscall.SIGTERM)
	return errors.Join(s.cmd.Wait(), s.log.Close())
}

// watch keeps the highest memory of the server with its children until ctx ends.
func (s *server) watch(ctx context.Context) {
	for ctx.Err() == nil {
		total := int64(0)
		for _, pid := range append(children(s.cmd.Process.Pid), s.cmd.Process.Pid) {
			total += resident(pid)
		}
		if total > s.peak.Load() {
			s.peak.Store(total)
		}
		time.Sleep(50 * time.Millisecond)
	}
}

func children(pid int) (out []int) {
	tasks, _ := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/children", pid))
	for _, file := range tasks {
		data, _ := os.ReadFile(file)
		for _, word := range strings.Fields(string(data)) {
			if n, err := strconv.Atoi(word); err == nil {
				out = append(append(out, n), children(n)...)
			}
		}
	}
	return out
}

// resident is the memory of a process in KB, its share of what several use.
func resident(pid int) int64 {
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/smaps_rollup", pid))
	if err != nil {
		return 0
	}
	for _, line := range strings.Split(string(data), "\n") {
		if rest, ok := strings.CutPrefix(line, "Pss:"); ok {
			n, _ := strconv.ParseInt(strings.Fields(rest)[0], 10, 64)
			return n
		}
	}
	return 0
}

// client is an adviser that has signed in, with a token.
type client struct {
	*http.Client
	url   string
	token string
}

const password = "a password for a soak 1"

// first makes the first account by the one-time link, a farm and a harvest, and a token.
func first(s *server) (*client, int64, error) {
	jar, err := cookiejar.New(nil)
	if err != nil {
		return nil, 0, err
	}
	c := &client{&http.Client{Jar: jar, Timeout: 2 * time.Minute}, s.url, ""}
	res, err := c.PostForm(s.join, url.Values{"name": {"soak"}, "password": {password}})
	if err != nil {
		return nil, 0, err
	}
	res.Body.Close()
	if res.StatusCode != http.StatusOK {
		return nil, 0, fmt.Errorf("the first account: %s", res.Status)
	}
	var farm, season struct{ ID int64 }
	var token struct{ Token string }
	err = errors.Join(c.post("/farms", map[string]any{"name": "Soak"}, &farm),
		c.post("/tokens", map[string]any{"label": "soak", "hours": 100}, &token))
	if err == nil {
		err = c.post("/harvests", map[string]any{"farm_id": farm.ID, "name": "Soak"}, &season)
	}
	c.token = token.Token
	return c, season.ID, err
}

func (c *client) post(path string, body, out any) error {
	data, err := json.Marshal(body)
	if err != nil {
		return err
	}
	r, err := http.NewRequest("POST", c.url+"/api/v1"+path, bytes.NewReader(data))
	if err != nil {
		return err
	}
	r.Header.Set("Content-Type", "application/json")
	return c.do(r, out)
}

func (c *client) get(path string, out any) error {
	r, err := http.NewRequest("GET", c.url+"/api/v1"+path, nil)
	if err != nil {
		return err
	}
	return c.do(r, out)
}

func (c *client) do(r *http.Request, out any) error {
	if c.token != "" {
		r.Header.Set("Authorization", "Bearer "+c.token)
	}
	res, err := c.Do(r)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	if err != nil {
		return err
	}
	if res.StatusCode >= 300 {
		return fmt.Errorf("%s %s: %s: %s", r.Method, r.URL.Path, res.Status, data)
	}
	return json.Unmarshal(data, out)
}

// upload sends a photo and returns its id once it is acknowledged.
func (c *client) upload(ctx context.Context, load int64, key string, photo []byte) (string, error) {
	r, err := http.NewRequestWithContext(ctx, "POST", fmt.Sprintf("%s/api/v1/loads/%d/photos?file=%s.jpg", c.url, load, key), bytes.NewReader(photo))
	if err != nil {
		return "", err
	}
	r.Header.Set("Content-Type", "image/jpeg")
	r.Header.Set("Idempotency-Key", key)
	var p struct{ ID string }
	err = c.do(r, &p)
	return p.ID, err
}
