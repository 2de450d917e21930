package browser

import (
	"context"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/base64"
	"fmt"
	"net/netip"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"gristmark/internal/harvest"
	"gristmark/internal/web/door"
	"gristmark/internal/web/webtest"
)

// certified makes an authority and a certificate for the site's name, as serve --make-ca does, and the switch by which the browser
// trusts it.
func certified(t *testing.T) (*tls.Config, chromedp.ExecAllocatorOption) {
	t.Helper()
	ca, err := door.MakeCA(t.TempDir(), []string{host}, []netip.Addr{netip.MustParseAddr("127.0.0.1")}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	pair := ca.Cert
	leaf, err := x509.ParseCertificate(pair.Certificate[0])
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(leaf.RawSubjectPublicKeyInfo)
	return &tls.Config{Certificates: []tls.Certificate{pair}}, chromedp.Flag("ignore-certificate-errors-spki-list", base64.StdEncoding.EncodeToString(sum[:]))
}

// once checks that the log has one load with so many photos.
func once(t *testing.T, site *webtest.Site, photos int) {
	t.Helper()
	loads, err := site.Log.Desk(site.Adviser).Loads(t.Context(), site.Harvest.ID, harvest.Filter{WithPhotos: true})
	if err != nil {
		t.Fatal(err)
	}
	if len(loads) != 1 || len(loads[0].Photos) != photos {
		t.Fatalf("%d loads, want 1 with %d photos: %+v", len(loads), photos, loads)
	}
}

// fill takes photos into the form of a new load and sends it.
func fill(v *view, names ...string) {
	v.until("document.querySelector('.load-form')")
	v.take(".load-form", names...)
	v.until(fmt.Sprintf("document.querySelectorAll('.chosen li').length == %d", len(names)))
	v.click(".load-form .big")
}

// Without HTTPS the open page keeps photos and says so; when the network is back they go up by themselves, once each, also where an
// answer was lost on the way.
func TestQueueOfTheOpenPageWithoutHTTPS(t *testing.T) {
	t.Parallel()
	site := webtest.New(t, webtest.Options{})
	v := open(t, site, phone)
	v.signIn()
	v.to(fmt.Sprintf("/harvests/%d/loads/new", site.Harvest.ID))
	if value[bool](v, "isSecureContext") {
		t.Fatal("the browser takes the site for secure: the test would show nothing")
	}
	site.Network(webtest.Down)
	fill(v, webtest.Coarse, webtest.Fine)
	v.until("document.querySelector('#net').innerText.includes('keep it open')")
	v.until("document.querySelector('#waiting-badge').innerText == '2 waiting'")
	v.picture("phone-4-no-network")
	site.Network(webtest.OneWay)
	_ = value[string](v, "gristQueue.send()")
	time.Sleep(300 * time.Millisecond) // the cut-off request is done to its end on the server
	once(t, site, 1)
	site.Network(webtest.Up)
	v.until("location.pathname.startsWith('/loads/')")
	v.until("document.querySelector('#waiting-badge').hidden")
	v.until("document.querySelectorAll('.photo.measured').length == 2")
	once(t, site, 2)
}

// With HTTPS the pages open without a network, keep photos over a restart of the page, and send them when it is back.
func TestServiceWorkerKeepsPagesAndPhotos(t *testing.T) {
	t.Parallel()
	config, trust := certified(t)
	site := webtest.New(t, webtest.Options{TLS: config})
	v := open(t, site, phone, trust)
	v.signIn()
	v.to(fmt.Sprintf("/harvests/%d", site.Harvest.ID))
	v.until("navigator.serviceWorker.controller")
	form := fmt.Sprintf("/harvests/%d/loads/new", site.Harvest.ID)
	for end := time.Now().Add(10 * time.Second); time.Now().Before(end) && !value[bool](v, fmt.Sprintf("caches.match(%q).then(Boolean)", form)); {
		time.Sleep(50 * time.Millisecond)
	}
	site.Network(webtest.Down)
	v.to(form)
	fill(v, webtest.Coarse)
	v.until("document.querySelector('#net').innerText.includes('go up by themselves')")
	v.to("/waiting")
	v.until("document.querySelector('#waiting-list li')")
	v.check()
	v.picture("phone-5-waiting")
	site.Network(webtest.Up)
	v.until("document.querySelector('#waiting-badge').hidden && !document.querySelector('#waiting-list li')")
	once(t, site, 1)
	site.Network(webtest.Down)
	v.to(fmt.Sprintf("/harvests/%d", site.Harvest.ID))
	if v.text("h1") != site.Harvest.Name {
		t.Errorf("without a network the harvest's page is %q", v.text("h1"))
	}
	site.Network(webtest.Up)
}

// The plain form works without scripts: photos are chosen, sent, and the page that follows loads itself again until it has the judgement.
func TestPlainUploadWithoutScripts(t *testing.T) {
	t.Parallel()
	site := webtest.New(t, webtest.Options{})
	l := site.Load(t, harvest.Load{Name: "Load 1", Settings: harvest.Settings{Show: "kernels"}})
	site.Measure.Pause = 2 * time.Second
	v := open(t, site, phone)
	v.signIn()
	if _, err := chromedp.Run(v.ctx, func(ctx context.Context, t *chromedp.Target) (cdp.Empty, error) {
		return cdp.Call(ctx, t, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	}); err != nil {
		t.Fatal(err)
	}
	v.to(fmt.Sprintf("/loads/%d", l.ID))
	v.do(chromedp.SetUploadFiles(chromedp.CSS(".shoot input"), v.photos(webtest.Coarse)))
	v.do(chromedp.Click(chromedp.CSS(".send")), chromedp.WaitVisible(chromedp.CSS(".busy")))
	v.picture("phone-6-without-scripts")
	v.do(chromedp.WaitVisible(chromedp.CSS(".verdict.short")))
	once(t, site, 1)
}
