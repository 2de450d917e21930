package main

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// servers are the running server of each script.
var servers sync.Map

var (
	servesAt   = regexp.MustCompile(`serves (https?://(\S+))`)
	firstJoins = regexp.MustCompile(`first account: (\S+)`)
)

// cmdServing starts a server on a folder and a free port and waits until it answers: serving DATA [options]. ADDRESS and HOSTPORT are set,
// and its output is there to be looked at.
func cmdServing(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: serving data [options...]")
	}
	program, err := exec.LookPath("gristmark")
	ts.Check(err)
	out, err := os.Create(filepath.Join(ts.MkAbs("."), "serving.out"))
	ts.Check(err)
	cmd := exec.Command(program, append([]string{"serve", "--listen", "127.0.0.1:0", "--data", args[0]}, args[1:]...)...)
	cmd.Dir, cmd.Stdout = ts.MkAbs("."), out
	cmd.Env = append(os.Environ(), "HOME="+ts.Getenv("WORK"))
	ts.Check(cmd.Start())
	servers.Store(ts, cmd)
	ts.Defer(func() { _ = cmd.Process.Kill(); out.Close() })
	said := ""
	for range 400 {
		data, err := os.ReadFile(out.Name())
		ts.Check(err)
		if said = string(data); servesAt.MatchString(said) && (strings.Contains(said, "works once") || strings.Contains(said, "compare")) {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	m := servesAt.FindStringSubmatch(said)
	if m == nil {
		ts.Fatalf("the server does not start: %s", said)
	}
	ts.Setenv("ADDRESS", m[1])
	ts.Setenv("HOSTPORT", m[2])
	ts.Setenv("SERVING", out.Name())
	ts.Check(ts.Exec("cat", out.Name()))
}

// cmdStopping asks the server to stop and demands that it does so in order.
func cmdStopping(ts *testscript.TestScript, neg bool, args []string) {
	running, ok := servers.LoadAndDelete(ts)
	if neg || len(args) != 0 || !ok {
		ts.Fatalf("usage: stopping, after serving")
	}
	cmd := running.(*exec.Cmd)
	ts.Check(cmd.Process.Signal(syscall.SIGTERM))
	if err := cmd.Wait(); err != nil {
		ts.Fatalf("the server stopped with %v", err)
	}
}

// cmdFirstAccount opens the one-time link and makes a farm and a harvest: firstaccount HARVEST.
func cmdFirstAccount(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: firstaccount harvest")
	}
	said, err := os.ReadFile(ts.Getenv("SERVING"))
	ts.Check(err)
	jar, err := cookiejar.New(nil)
	ts.Check(err)
	client := &http.Client{Jar: jar, Timeout: 30 * time.Second}
	answer := func(res *http.Response, err error) (out struct{ ID int64 }) {
		ts.Check(err)
		defer res.Body.Close()
		data, err := io.ReadAll(res.Body)
		ts.Check(err)
		if res.StatusCode >= 300 {
			ts.Fatalf("%s: %s", res.Status, data)
		}
		_ = json.Unmarshal(data, &out) // a page has no id
		return out
	}
	answer(client.PostForm(firstJoins.FindStringSubmatch(string(said))[1], url.Values{"name": {"Ada"}, "password": {testPassword}}))
	post := func(path, body string) struct{ ID int64 } {
		return answer(client.Post(ts.Getenv("ADDRESS")+"/api/v1"+path, "application/json", strings.NewReader(body)))
	}
	farm := post("/farms", `{"name": "Varnebrook"}`)
	post("/harvests", fmt.Sprintf(`{"farm_id": %d, "name": %q}`, farm.ID, args[0]))
}
