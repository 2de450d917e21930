// Package browser walks through the pages in a real browser: headless Chromium, as a phone and as a desk.
package browser

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	goruntime "runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	browserlog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"gristmark/internal/web/webtest"
)

// host is a name that is not localhost, so that the browser gives it no rights that a phone would not have.
const host = "gristmark.test"

// root is the folder of the repository.
func root() string {
	_, file, _, _ := goruntime.Caller(0)
	return filepath.Join(filepath.Dir(file), "..", "..", "..")
}

// chromium finds the browser, which scripts/setup.sh test installs.
func chromium(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Fatal("browser: there is no chromium; run scripts/setup.sh test")
	return ""
}

// view is one open page.
type view struct {
	t    *testing.T
	ctx  context.Context
	site *webtest.Site
	base string

	mu     sync.Mutex
	faults []string // of scripts and of the policy
}

// size of a screen.
type size struct {
	w, h  int64
	phone bool
}

var (
	phone = size{360, 740, true}
	desk  = size{1280, 800, false}
)

// open starts a browser on a site. flags are further switches of Chromium.
func open(t *testing.T, site *webtest.Site, s size, flags ...chromedp.ExecAllocatorOption) *view {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(chromium(t)), chromedp.NoSandbox,
		chromedp.Flag("host-resolver-rules", "MAP "+host+" 127.0.0.1"), chromedp.Flag("disable-gpu", true), chromedp.Flag("lang", "en-GB"),
		chromedp.UserDataDir(t.TempDir()), chromedp.WindowSize(int(s.w), int(s.h)))
	allocator, endAllocator := chromedp.NewExecAllocator(context.Background(), append(options, flags...)...)
	ctx, end := chromedp.NewContext(allocator, chromedp.WithErrorf(func(string, ...any) {}))
	v := &view{t: t, ctx: ctx, site: site, base: strings.Replace(site.Server.URL, "127.0.0.1", host, 1)}
	t.Cleanup(func() {
		end()
		endAllocator()
		v.mu.Lock()
		defer v.mu.Unlock()
		for _, f := range v.faults {
			t.Error("in the browser: " + f)
		}
	})
	v.do() // starts it
	if err := chromedp.Listen(ctx, v.listen); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Run(ctx, func(ctx context.Context, t *chromedp.Target) (cdp.Empty, error) {
		return cdp.Call(ctx, t, browserlog.Enable, cdp.Empty{})
	}); err != nil {
		t.Fatal(err)
	}
	how := []chromedp.EmulateViewportOption{}
	if s.phone {
		how = append(how, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulateScale(2), chromedp.EmulatePortrait)
	}
	v.do(chromedp.EmulateViewport(s.w, s.h, how...))
	return v
}

// listen keeps what scripts and the policy complain of.
func (v *view) listen(event any) {
	v.mu.Lock()
	defer v.mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		v.faults = append(v.faults, fmt.Sprintf("%+v", e.ExceptionDetails))
	case *browserlog.EventEntryAdded:
		if e.Entry.Source == browserlog.EntrySourceSecurity || strings.Contains(e.Entry.Text, "Content Security Policy") {
			v.faults = append(v.faults, e.Entry.Text)
		}
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError {
			v.faults = append(v.faults, fmt.Sprintf("%+v", e.Args))
		}
	}
}

func (v *view) do(steps ...chromedp.Action[chromedp.Void]) {
	v.t.Helper()
	ctx, late := v.ctx, context.CancelFunc(func() {})
	if len(steps) > 0 {
		ctx, late = context.WithTimeout(v.ctx, 60*time.Second)
	}
	defer late()
	if err := chromedp.Do(ctx, steps...); err != nil {
		v.t.Fatalf("browser: %v", err)
	}
}

// to opens a page of the site.
func (v *view) to(path string) {
	v.t.Helper()
	v.do(chromedp.Navigate(v.base+path), chromedp.WaitReady(chromedp.CSS("#main")))
}

// signIn signs in as the adviser.
func (v *view) signIn() {
	v.t.Helper()
	v.to("/sign-in")
	v.do(chromedp.SendKeys(chromedp.CSS("[name=name]"), webtest.Name), chromedp.SendKeys(chromedp.CSS("[name=password]"), webtest.Password))
	v.click("main button")
	v.until("location.pathname != '/sign-in'")
}

// until waits until an expression is true in the page.
func (v *view) until(js string) {
	v.t.Helper()
	for end := time.Now().Add(45 * time.Second); time.Now().Before(end); time.Sleep(60 * time.Millisecond) {
		if ok, err := chromedp.Run(v.ctx, chromedp.Evaluate[bool]("Boolean("+js+")")); err == nil && ok {
			return
		}
	}
	v.picture("stuck-" + strings.ReplaceAll(v.t.Name(), "/", "-"))
	v.t.Fatalf("browser: never came true: %s; the page says: %.900s", js, v.text("body"))
}

func (v *view) text(selector string) string {
	v.t.Helper()
	return value[string](v, fmt.Sprintf("(document.querySelector(%q) || {}).innerText || ''", selector))
}

// value evaluates an expression; a promise is waited for.
func value[T any](v *view, code string) T {
	v.t.Helper()
	out, err := chromedp.Run(v.ctx, chromedp.Evaluate[T](code, chromedp.EvalAwaitPromise))
	if err != nil {
		v.t.Fatalf("browser: %s: %v", code, err)
	}
	return out
}

// click clicks what a selector finds. The page may put a new part in place of the old one just then, so it is tried again.
func (v *view) click(selector string) {
	v.t.Helper()
	var err error
	for range 4 {
		ctx, late := context.WithTimeout(v.ctx, 15*time.Second)
		err = chromedp.Do(ctx, chromedp.ScrollIntoView(chromedp.CSS(selector)), chromedp.Click(chromedp.CSS(selector)))
		late()
		if err == nil {
			return
		}
	}
	v.picture("stuck-" + strings.ReplaceAll(v.t.Name(), "/", "-"))
	v.t.Fatalf("browser: no click on %s: %v", selector, err)
}

// picture writes what is seen into build/web/: the screen, or the whole page.
func (v *view) picture(name string) []byte {
	v.t.Helper()
	if err := chromedp.Do(v.ctx, chromedp.Evaluate[chromedp.Void]("document.querySelectorAll('img[loading]').forEach(i => i.loading = 'eager')")); err == nil {
		for range 40 {
			if ok, err := chromedp.Run(v.ctx, chromedp.Evaluate[bool]("[...document.images].every(i => i.complete)")); err == nil && ok {
				break
			}
			time.Sleep(50 * time.Millisecond)
		}
	}
	shot, err := chromedp.Run(v.ctx, func(ctx context.Context, t *chromedp.Target) ([]byte, error) {
		m, err := cdp.Call(ctx, t, page.GetLayoutMetrics, cdp.Empty{})
		if err != nil {
			return nil, err
		}
		beyond := true
		clip := &page.Viewport{Width: m.CSSContentSize.Width, Height: min(m.CSSContentSize.Height, 4000), Scale: 1}
		r, err := cdp.Call(ctx, t, page.CaptureScreenshot, page.CaptureScreenshotParams{Clip: clip, CaptureBeyondViewport: &beyond})
		return r.Data, err
	})
	if err != nil {
		v.t.Fatalf("browser: no picture: %v", err)
	}
	dir := filepath.Join(root(), "build", "web")
	if err := os.MkdirAll(dir, 0o777); err != nil {
		v.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), shot, 0o666); err != nil {
		v.t.Fatal(err)
	}
	return shot
}

// photos writes photos into files, as a camera does, and returns their paths.
func (v *view) photos(names ...string) (paths []string) {
	v.t.Helper()
	for i, name := range names {
		data, err := webtest.Variant(name, i, 1, time.Date(2026, 9, 17, 9, 12+i, 0, 0, time.UTC))
		if err != nil {
			v.t.Fatal(err)
		}
		if strings.HasPrefix(name, "bad/") {
			if data, err = webtest.Photo(name); err != nil {
				v.t.Fatal(err)
			}
		}
		path := filepath.Join(v.t.TempDir(), fmt.Sprintf("IMG_20260917_0912%02d.jpg", i))
		if err := os.WriteFile(path, data, 0o666); err != nil {
			v.t.Fatal(err)
		}
		paths = append(paths, path)
	}
	return paths
}

// fits checks that nothing is wider than the screen.
func (v *view) fits() {
	v.t.Helper()
	over := value[int](v, "document.documentElement.scrollWidth - document.documentElement.clientWidth")
	if over > 0 {
		who := value[[]string](v, "[...document.querySelectorAll('main *, .top *')].filter(e => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1).slice(0, 4).map(e => e.tagName + '.' + e.className)")
		v.t.Errorf("the page %s is %d px wider than the screen: %v", v.path(), over, who)
	}
}

func (v *view) path() string { return value[string](v, "location.pathname") }
