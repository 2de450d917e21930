package browser

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"gristmark/internal/web/webtest"
)

// Every page of an adviser fits a phone, in German too, has no fault of accessibility and no target too small; and the log prints.
func TestEveryPageFitsAPhone(t *testing.T) {
	t.Parallel()
	site := webtest.New(t, webtest.Options{})
	loads := site.Season(t, 3)
	v := open(t, site, phone, chromedp.Flag("accept-lang", "de-AT,de"))
	v.signIn()
	if lang := value[string](v, "document.documentElement.lang"); lang != "de" {
		t.Errorf("the page speaks %q to a browser that asks for German", lang)
	}
	h, l, p := fmt.Sprintf("/harvests/%d", site.Harvest.ID), fmt.Sprintf("/loads/%d", loads[0].ID), "/photos/"+loads[0].Photos[0].ID
	for _, page := range []struct{ name, path string }{
		{"home", "/"}, {"log", h}, {"new-load", h + "/loads/new"}, {"load", l}, {"edit", l + "/edit"}, {"photo", p}, {"piece", p + "/pieces/1"},
		{"compare", h + "/compare?agap=3&bgap=1.5"}, {"links", h + "/links"}, {"harvest-edit", h + "/edit"}, {"new-harvest", fmt.Sprintf("/harvests/new?farm=%d", site.Farm.ID)},
		{"farm", fmt.Sprintf("/farms/%d", site.Farm.ID)}, {"account", "/account"}, {"waiting", "/waiting"}, {"nothing", "/loads/999999"},
	} {
		v.to(page.path)
		v.check()
		v.picture("phone-de-" + page.name)
	}
	v.to(h)
	data, err := chromedp.Run(v.ctx, chromedp.PrintToPDF())
	if err != nil || !strings.HasPrefix(string(data), "%PDF") {
		t.Fatalf("the log does not print: %v", err)
	}
	if err := os.WriteFile(filepath.Join(root(), "build", "web", "log.pdf"), data, 0o666); err != nil {
		t.Fatal(err)
	}
}
