package browser

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"gristmark/internal/harvest"
	"gristmark/internal/web/webtest"
)

// axe runs axe-core on the page as it is: WCAG 2.0 to 2.2, levels A and AA.
func (v *view) axe() {
	v.t.Helper()
	code, err := os.ReadFile(axeFile(v.t))
	if err != nil {
		v.t.Fatal(err)
	}
	v.do(chromedp.Evaluate[chromedp.Void](string(code)))
	faults := value[[]string](v, `axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then(r =>
		r.violations.map(x => x.id + ": " + x.help + " at " + x.nodes.slice(0, 3).map(n => n.target + " " + n.failureSummary).join("; ")))`)
	for _, f := range faults {
		v.t.Errorf("axe on %s: %s", v.path(), f)
	}
}

// axeFile is where axe-core lies; it is fetched the first time.
func axeFile(t *testing.T) string {
	t.Helper()
	out, err := exec.Command(filepath.Join(root(), "scripts", "axe.sh")).Output()
	if err != nil {
		t.Fatalf("scripts/axe.sh: %v", err)
	}
	return strings.TrimSpace(string(out))
}

// targets checks that what a finger has to hit is 44 px high at least, links in text left out (48 px is what the style sheet gives).
func (v *view) targets() {
	v.t.Helper()
	small := value[[]string](v, `[...document.querySelectorAll('button, .button, select, summary, .shoot, .tick, .choice label, input:not([type=hidden]):not([type=file]):not([type=radio]):not([type=checkbox])')]
		.filter(e => e.offsetParent && e.getBoundingClientRect().height < 47.5).map(e => e.tagName + ' ' + e.className + ' ' + e.getBoundingClientRect().height + ' ' + e.innerText.slice(0, 20))`)
	if len(small) > 0 {
		v.t.Errorf("too small for gloves on %s: %v", v.path(), small)
	}
}

func (v *view) check() {
	v.t.Helper()
	if strings.Contains(v.text("h1"), "did not work") {
		v.t.Errorf("%s: %s", v.path(), v.text("main"))
	}
	v.fits()
	v.targets()
	v.axe()
}

func (v *view) take(form string, names ...string) {
	v.t.Helper()
	v.do(chromedp.SetUploadFiles(chromedp.CSS(form+" .shoot input"), v.photos(names...)))
}

// A crew member opens the link of the crew, makes a load with two photos, one of them blurred, sees why that one is refused and what
// the other says, says that a piece is something else, and the numbers follow.
func TestCrewOnAPhone(t *testing.T) {
	t.Parallel()
	site := webtest.New(t, webtest.Options{})
	link, _, err := site.Log.Desk(site.Adviser).AddCrewLink(t.Context(), site.Harvest.ID, "Red harvester", time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	v := open(t, site, phone)
	v.to("/crew/" + link)
	v.check()
	v.click("main button")
	v.until(fmt.Sprintf("location.pathname == '/harvests/%d'", site.Harvest.ID))
	v.check()
	v.click(".head .button")
	v.until("document.querySelector('.load-form')")
	v.check()
	v.take(".load-form", webtest.Coarse, webtest.Blurred)
	v.until("document.querySelectorAll('.chosen img').length == 2")
	v.click("[value=kernels]")
	v.do(chromedp.SendKeys(chromedp.CSS("[name=gap]"), "3"), chromedp.SendKeys(chromedp.CSS("[name=field]"), "Mill hill"))
	v.picture("phone-1-chosen")
	v.click(".load-form .big")
	v.until("location.pathname.startsWith('/loads/')")
	v.until("document.querySelector('.verdict.short') && document.querySelectorAll('.photo.measured, .photo.refused').length == 2")
	v.until("document.querySelector('#live').dataset.busy == 'false'")
	if problem := v.text(".photo.refused .problem"); !strings.Contains(problem, "card") || strings.Contains(problem, "--") {
		t.Errorf("the refused photo says %q", problem)
	}
	want := fmt.Sprintf("%.0f", onlyLoad(t, site).Document.Sample.Kernels.Passing475Pct.Value)
	if number := v.text(".verdict .value b"); number != want {
		t.Errorf("%s %% through 4.75 mm, want %s", number, want)
	}
	v.check()
	v.picture("phone-2-judged")
	correct(t, v, site)
}

// onlyLoad is the one load of the site's harvest as the log keeps it; it shows whole kernels.
func onlyLoad(t *testing.T, site *webtest.Site) harvest.Load {
	t.Helper()
	loads, err := site.Log.Desk(site.Adviser).Loads(t.Context(), site.Harvest.ID, harvest.Filter{})
	if err != nil || len(loads) != 1 || loads[0].Document.Sample.Kernels.Whole == 0 {
		t.Fatalf("%d loads, %v", len(loads), err)
	}
	return loads[0]
}

// correct taps a piece and names it anew.
func correct(t *testing.T, v *view, site *webtest.Site) {
	v.click(".photo.measured .thumb")
	v.until("document.querySelector('#viewer') && document.querySelector('#viewer').dataset.ready")
	v.check()
	before := v.text("#sums")
	want := onlyLoad(t, site).Document.Sample.Kernels.Whole - 1
	at := value[[]float64](v, `(() => { const p = document.querySelector('.stage path.whole_kernel').getBoundingClientRect(); return [p.x + p.width / 2, p.y + p.height / 2] })()`)
	v.do(chromedp.TapXY(at[0], at[1]))
	v.until("document.querySelector('#piece-dialog').open")
	v.axe()
	v.picture("phone-3-piece")
	v.click("#piece-dialog [value=broken_kernel]")
	v.until("!document.querySelector('#piece-dialog').open")
	v.until(fmt.Sprintf("document.querySelector('#sums').innerText != %q", before))
	v.until("document.querySelectorAll('.stage path.by-hand').length == 1")
	load := onlyLoad(t, site)
	if s := load.Document.Sample; s.Kernels.Whole != want {
		t.Errorf("%d whole kernels in the log, want %d", s.Kernels.Whole, want)
	}
	kept, err := site.Log.Desk(site.Adviser).Corrections(t.Context(), load.ID)
	if err != nil || len(kept) != 1 || kept[0].By == "" {
		t.Errorf("corrections %+v, %v", kept, err)
	}
	pinch(t, v)
}

// pinch spreads two fingers: the photo grows.
func pinch(t *testing.T, v *view) {
	scale := "new DOMMatrix(getComputedStyle(document.querySelector('.turn')).transform).a"
	before := value[float64](v, scale)
	v.js(`(() => { const s = document.querySelector('.stage'), r = s.getBoundingClientRect();
		const fire = (type, id, x) => s.dispatchEvent(new PointerEvent(type, {pointerId: id, pointerType: 'touch', clientX: r.left + x, clientY: r.top + 100, bubbles: true}));
		s.setPointerCapture = () => {};
		fire('pointerdown', 11, 140); fire('pointerdown', 12, 160);
		for (let d = 0; d <= 60; d += 5) { fire('pointermove', 11, 140 - d); fire('pointermove', 12, 160 + d); }
		fire('pointerup', 11, 80); fire('pointerup', 12, 220); return 1; })()`)
	if after := value[float64](v, scale); after < 3*before {
		t.Errorf("two fingers spread from 20 to 140 px: scale %.3f became %.3f", before, after)
	}
}

// js runs code that gives 1.
func (v *view) js(code string) {
	v.t.Helper()
	value[int](v, code)
}

// An adviser looks through the log at a desk: alert, charts, filter, comparison, sieve box, cup, and every page of settings.
func TestAdviserAtADesk(t *testing.T) {
	t.Parallel()
	site := webtest.New(t, webtest.Options{})
	loads := site.Season(t, 20)
	v := open(t, site, desk)
	v.to("/sign-in")
	v.check()
	v.signIn()
	v.check()
	v.click(".card.harvest")
	v.until("document.querySelector('.charts')")
	if text := v.text(".note.alert"); !strings.Contains(text, "Load 20") {
		t.Errorf("the alert says %q", text)
	}
	if n := value[int](v, "document.querySelectorAll('.wide .c-mark').length"); n != 2 {
		t.Errorf("%d marks of changed settings in two charts, want 2", n)
	}
	v.check()
	v.picture("desk-1-log")
	v.do(chromedp.Navigate(v.base + v.path() + "?field=Mill+hill"))
	if n := value[int](v, "document.querySelectorAll('.loads tbody tr').length"); n != 7 {
		t.Errorf("%d loads of one field, want 7", n)
	}
	v.do(chromedp.Navigate(v.base + v.path() + "/compare?agap=3&bgap=1.5"))
	v.check()
	v.picture("desk-2-compare")
	if text := v.text(".verdict.plain"); !strings.Contains(text, "kernels whole") {
		t.Errorf("the comparison says %q", text)
	}
	typed(t, v, loads[0])
	h := fmt.Sprintf("/harvests/%d", site.Harvest.ID)
	for name, path := range map[string]string{"links": h + "/links", "edit": h + "/edit", "farm": fmt.Sprintf("/farms/%d", site.Farm.ID), "account": "/account"} {
		v.to(path)
		v.check()
		v.picture("desk-" + name)
	}
	v.to(h + "/links")
	v.do(chromedp.SendKeys(chromedp.CSS("[name=label]"), "Red harvester"))
	v.click("form.row button")
	v.until("document.querySelector('.qr svg')")
	v.check()
	v.picture("desk-link")
	v.to("/account")
	v.do(chromedp.SendKeys(chromedp.CSS("[name=label]"), "The office's spreadsheet"))
	v.click("form.row button")
	v.until("document.querySelector('.note.good input')")
	v.check()
}

func typed(t *testing.T, v *view, l harvest.Load) {
	v.to(fmt.Sprintf("/loads/%d", l.ID))
	v.click("#sieve-form summary")
	for name, grams := range map[string]string{"top": "12", "middle": "340", "lower": "120", "pan": "28", "put_in": "700"} {
		v.do(chromedp.SendKeys(chromedp.CSS("#sieve-form [name="+name+"]"), grams))
	}
	v.click("#sieve-form button")
	v.until("document.querySelector('#sieve-form .note.bad')") // a fifth of it is lost
	v.do(chromedp.SetValue(chromedp.CSS("#sieve-form [name=put_in]"), "501"))
	v.click("#sieve-form button")
	v.until("document.querySelector('.typed table')")
	v.click("#cup-form summary")
	v.do(chromedp.SendKeys(chromedp.CSS("#cup-form [name=count]"), "3"))
	v.click("#cup-form button")
	v.until("document.querySelectorAll('.typed').length == 2")
	v.check()
	v.picture("desk-3-load")
}
