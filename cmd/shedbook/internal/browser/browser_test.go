// Package browser has tests only: they open every kind of page that shedbook writes in a real browser, Chromium, with the network off, and look at what it
// makes of them: requests, policy, accessibility by axe-core and by checks of our own, light and dark, a phone's width, printed sheets.
//
// They run with SHEDBOOK_TEST=full only. They need chromium, pdfinfo, pdftotext and pdftoppm (poppler-utils), and axe.min.js of axe-core, whose path stands in SHEDBOOK_AXE;
// where one is missing they fail. SHEDBOOK_SHOTS names a folder for pictures of all of it.
package browser

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

func full() bool { return os.Getenv("SHEDBOOK_TEST") == "full" }

// tab is an open page and what was heard of it.
type tab struct {
	t       *testing.T
	ctx     context.Context
	mu      sync.Mutex
	asked   []string // addresses requested
	trouble []string // console, log, exceptions
}

// chromium starts a browser without any way out: whatever address is asked for is no address.
func chromium(t *testing.T) context.Context { t.Helper(); return chromiumWith(t, "MAP * ~NOTFOUND") }

// chromiumWith starts a browser that finds the addresses that the rules leave it.
func chromiumWith(t *testing.T, rules string) context.Context {
	t.Helper()
	path := ""
	for _, n := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(n); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		t.Fatal("no chromium: apt-get install chromium")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("proxy-server", "127.0.0.1:9"), chromedp.Flag("host-resolver-rules", rules),
		chromedp.UserDataDir(t.TempDir()), chromedp.WindowSize(1000, 900))
	actx, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(stop)
	ctx, end := chromedp.NewContext(actx)
	t.Cleanup(end)
	if err := chromedp.Do(ctx); err != nil { // starts it; a deadline here would end it later
		t.Fatalf("chromium does not start: %v", err)
	}
	return ctx
}

// open opens a file in a tab of its own and waits until nothing more is asked for.
func open(t *testing.T, browser context.Context, file string) *tab {
	t.Helper()
	return openAt(t, browser, "file://"+file)
}

// openAt is open for any address.
func openAt(t *testing.T, browser context.Context, address string) *tab {
	t.Helper()
	ctx, end := chromedp.NewContext(browser)
	t.Cleanup(end)
	b := &tab{t: t, ctx: ctx}
	must(t, chromedp.Do(ctx))
	must(t, chromedp.Listen(ctx, func(ev any) {
		b.mu.Lock()
		defer b.mu.Unlock()
		switch e := ev.(type) {
		case *network.EventRequestWillBeSent:
			b.asked = append(b.asked, e.Request.URL)
		case *log.EventEntryAdded:
			b.trouble = append(b.trouble, "log: "+e.Entry.Text)
		case *runtime.EventConsoleAPICalled:
			b.trouble = append(b.trouble, "console: "+string(e.Type))
		case *runtime.EventExceptionThrown:
			b.trouble = append(b.trouble, "exception: "+e.ExceptionDetails.Text)
		}
	}))
	call(b, network.Enable, network.EnableParams{})
	call(b, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{
		Source: `window.refused = []; document.addEventListener("securitypolicyviolation", (e) => window.refused.push(e.violatedDirective + " " + e.blockedURI))`})
	limited, cancel := context.WithTimeout(ctx, time.Minute)
	defer cancel()
	must(t, chromedp.Do(limited, chromedp.Navigate(address)))
	time.Sleep(200 * time.Millisecond) // what a page would ask for after it is loaded
	return b
}

// heard is every request but the file's own, every refusal by the page's policy, and everything written to the console.
func (b *tab) heard(file string) []string {
	out := evaluate[[]string](b, `window.refused.map((s) => "policy: " + s)`)
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, u := range b.asked {
		if u != "file://"+file {
			out = append(out, "request: "+u)
		}
	}
	return append(out, b.trouble...)
}

func call[P, R any](b *tab, command cdp.Command[P, R], p P) {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, command, p)
	must(b.t, err)
}

func evaluate[T any](b *tab, script string) T {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, 3*time.Minute)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%.60s: %v", script, err)
	}
	return v
}

// look sets what the page is looked at with: "screen" or "print", light or dark, and how wide.
func (b *tab) look(media, scheme string, width int64) {
	b.t.Helper()
	call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: media, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
	must(b.t, chromedp.Do(b.ctx, chromedp.EmulateViewport(width, 900)))
}

// shot keeps a picture where pictures are wanted.
func (b *tab) shot(name string) {
	b.t.Helper()
	dir := os.Getenv("SHEDBOOK_SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	must(b.t, err)
	must(b.t, os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644))
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
