// Command screens takes the pictures of the pages that stand in the README, from a server that runs:
//
//	go run ./internal/web/browser/screens -url http://127.0.0.1:8470 -name demo -password ... -loads 24 -out docs
package main

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"image/jpeg"
	"image/png"
	"log"
	"os"
	"path/filepath"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// mostBytes is how large a picture may be.
const mostBytes = 200 << 10

func main() {
	url := flag.String("url", "http://127.0.0.1:8470", "address of the server")
	name := flag.String("name", "demo", "of the account")
	password := flag.String("password", "", "of the account")
	loads := flag.Int("loads", 24, "to wait for until they are measured")
	out := flag.String("out", "docs", "folder of the pictures")
	flag.Parse()
	if err := run(*url, *name, *password, *loads, *out); err != nil {
		log.Fatal("screens: ", err)
	}
}

func run(url, name, password string, loads int, out string) error {
	allocator, end := chromedp.NewExecAllocator(context.Background(), append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.Flag("lang", "en-GB"))...)
	defer end()
	ctx, close := chromedp.NewContext(allocator)
	defer close()
	err := chromedp.Do(ctx, chromedp.EmulateViewport(1280, 900), chromedp.Navigate(url+"/sign-in"), chromedp.SendKeys(css("[name=name]"), name),
		chromedp.SendKeys(css("[name=password]"), password), chromedp.Click(css("main button")), chromedp.WaitVisible(css(".card.harvest")), chromedp.Click(css(".card.harvest")), chromedp.WaitVisible(css("#loads")))
	if err != nil {
		return err
	}
	if err := wait(ctx, loads); err != nil {
		return err
	}
	if err := shoot(ctx, filepath.Join(out, "web-log.jpg"), 1280, 900); err != nil {
		return err
	}
	load, err := chromedp.Run(ctx, chromedp.Evaluate[string]("(document.querySelector('.loads .cell.short') || document.querySelector('.loads .cell')).closest('tr').querySelector('a').getAttribute('href')"))
	if err != nil {
		return err
	}
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(360, 740, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulateScale(2)), chromedp.Navigate(url+load)); err != nil {
		return err
	}
	return shoot(ctx, filepath.Join(out, "web-load.jpg"), 360, 1120)
}

// wait waits until the harvest has so many loads with a judgement.
func wait(ctx context.Context, loads int) error {
	for end := time.Now().Add(20 * time.Minute); time.Now().Before(end); time.Sleep(3 * time.Second) {
		n, err := chromedp.Run(ctx, chromedp.Evaluate[int]("[...document.querySelectorAll('.loads tbody tr')].filter(r => r.querySelector('.cell')).length"))
		if err != nil {
			return err
		}
		if n >= loads {
			return nil
		}
		if err := chromedp.Do(ctx, chromedp.Reload(), chromedp.WaitVisible(css("#loads"))); err != nil {
			return err
		}
	}
	return fmt.Errorf("%d loads were not measured within 20 minutes", loads)
}

func css(s string) chromedp.CSS { return chromedp.CSS(s) }

// shoot writes the upper left of the page as a JPEG of the best quality that is small enough.
func shoot(ctx context.Context, path string, w, h float64) error {
	beyond := true
	data, err := chromedp.Run(ctx, func(ctx context.Context, t *chromedp.Target) ([]byte, error) {
		r, err := cdp.Call(ctx, t, page.CaptureScreenshot, page.CaptureScreenshotParams{Clip: &page.Viewport{Width: w, Height: h, Scale: 1}, CaptureBeyondViewport: &beyond})
		return r.Data, err
	})
	if err != nil {
		return err
	}
	picture, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		return err
	}
	for quality := 92; quality > 30; quality -= 6 {
		var b bytes.Buffer
		if err := jpeg.Encode(&b, picture, &jpeg.Options{Quality: quality}); err != nil {
			return err
		}
		if b.Len() <= mostBytes {
			return os.WriteFile(path, b.Bytes(), 0o666)
		}
	}
	return fmt.Errorf("%s does not get small enough", path)
}
