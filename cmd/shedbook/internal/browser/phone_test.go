package browser

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// served is a phone page served by the program that is built, and what is typed beside it.
type served struct {
	stage
	address, invitation string
	typed               io.Writer
}

func serve(t *testing.T, s stage) served {
	t.Helper()
	cmd := exec.Command(s.program, "phone", "--port", "0", "--json")
	cmd.Dir = s.dir
	cmd.Env = append(os.Environ(), "SHEDBOOK_CONFIG="+filepath.Join(s.dir, "config"), "SHEDBOOK_BOOK="+s.book)
	in, err := cmd.StdinPipe()
	must(t, err)
	out, err := cmd.StdoutPipe()
	must(t, err)
	must(t, cmd.Start())
	t.Cleanup(func() { fmt.Fprintln(in, "stop"); _ = cmd.Wait() })
	line, err := bufio.NewReader(out).ReadBytes('\n')
	must(t, err)
	var said struct{ Address, Invitation string }
	must(t, json.Unmarshal(line, &said))
	go func() { _, _ = io.Copy(io.Discard, out) }()
	return served{s, said.Address, said.Invitation, in}
}

// photographed records a note with a photo at the laptop.
func (s served) photographed(t *testing.T) {
	t.Helper()
	file := filepath.Join(s.dir, "worn disc.jpg")
	f, err := os.Create(file)
	must(t, err)
	picture := image.NewGray(image.Rect(0, 0, 640, 480))
	for i := range picture.Pix {
		picture.Pix[i] = byte(i % 640 / 3)
	}
	must(t, jpeg.Encode(f, picture, nil))
	must(t, f.Close())
	cmd := exec.Command(s.program, "note", "drill", "this one is worn", "--paper", file, "--book", s.book)
	cmd.Env = append(os.Environ(), "SHEDBOOK_CONFIG="+filepath.Join(s.dir, "config"))
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
}

// visit goes to an address of the page.
func (b *tab) visit(address string) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, time.Minute)
	defer cancel()
	before := evaluate[string](b, "window.stamp = String(Math.random())")
	must(b.t, chromedp.Do(ctx, chromedp.Navigate(address)))
	b.settled(before) // what is typed at once would still go into the page before
}

// tap clicks what a selector finds and waits until the page that follows is there.
func (b *tab) tap(selector string) {
	b.t.Helper()
	before := evaluate[string](b, "window.stamp = String(Math.random())")
	evaluate[int](b, fmt.Sprintf("document.querySelector(%q).click(); 0", selector))
	b.settled(before)
}

// patience is how long a page may take on a machine that does much else: what is wrong stays wrong, so a test that passes never waits for it.
const patience = 40 * time.Second

// settled waits until another page is loaded, or gives up where the tap leads to none.
func (b *tab) settled(before string) {
	b.t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if now := b.try(`(window.stamp || "") + " " + document.readyState`); !strings.HasPrefix(now, before) && strings.HasSuffix(now, "complete") {
			return
		}
	}
}

// try evaluates while pages change under it.
func (b *tab) try(script string) string {
	ctx, cancel := context.WithTimeout(b.ctx, 5*time.Second)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[string](script))
	if err != nil {
		return ""
	}
	return v
}

func (b *tab) text() string { b.t.Helper(); return evaluate[string](b, "document.body.innerText") }

func (b *tab) says(want string) {
	b.t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if strings.Contains(b.try("document.body.innerText"), want) {
			return
		}
	}
	b.t.Fatalf("the page does not say %q:\n%s", want, b.text())
}

// pairUp pairs the browser as a phone and counts the taps.
func (b *tab) pairUp(s served) (taps int) {
	b.t.Helper()
	b.visit(s.invitation)
	evaluate[int](b, `document.querySelector("[name=person]").click(); 0`)
	b.tap("button")
	number := evaluate[string](b, `document.querySelector(".number").innerText`)
	fmt.Fprintln(s.typed, number)
	b.says("Today") // by itself, within three seconds
	return 2
}

// targets on a phone with gloves: 48 px and more, but for links in running text (the page's own promise). Boxes and rounds are hit by their labels.
const bigTargets = `[...document.querySelectorAll("a, summary, button, input:not([type=hidden]), select, textarea")].filter((e) => e.checkVisibility() && !e.matches(".skip")).map((e) => [e, (e.matches("[type=radio],[type=checkbox]") ? e.closest("label") : e).getBoundingClientRect()])
	.filter(([, r]) => r.width < 47.9 || r.height < 47.9).map(([e, r]) => "target " + r.width.toFixed(0) + " x " + r.height.toFixed(0) + ": " + e.outerHTML.slice(0, 80))`

// labelled: every field has a label that can be seen.
const unlabelled = `[...document.querySelectorAll("input:not([type=hidden]), select, textarea")].filter((e) => e.checkVisibility() && ![...(e.labels || [])].some((l) => l.checkVisibility() && l.innerText.trim())).map((e) => "no label: " + e.outerHTML.slice(0, 80))`

// inspect looks at a page of the phone in every way.
func (b *tab) inspect(name, axe string) {
	b.t.Helper()
	evaluate[int](b, own+";0")
	evaluate[int](b, axe+";0")
	evaluate[int](b, `document.querySelectorAll("details").forEach((d) => { d.open = true }); 0`)
	for _, scheme := range []string{"light", "dark"} {
		for _, width := range []int64{390, 320} {
			b.look("screen", scheme, width)
			where := fmt.Sprintf("%s, %s, %d px: ", name, scheme, width)
			b.shot(fmt.Sprintf("phone-%s-%s-%d", name, scheme, width))
			for _, script := range []string{axeRun, "own.contrast(" + leastContrast + ")", fmt.Sprintf("own.reflow(%d)", width), bigTargets, unlabelled} {
				for _, w := range evaluate[[]string](b, script) {
					b.t.Error(where + w)
				}
			}
		}
	}
	b.look("screen", "light", 412)
}

// Every page of the phone: from pairing to a job done, a fault, a question, a round of 48 readings with the connection cut, all looked at.
func TestPhonePages(t *testing.T) {
	if !full() {
		return
	}
	axe, s := axe(t), serve(t, newStage(t))
	browser := chromiumWith(t, "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1")
	b := openAt(t, browser, s.invitation)
	call(b, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: true})
	b.look("screen", "light", 412)
	b.inspect("pair", axe)
	taps := b.pairUp(s)
	b.inspect("today", axe)
	size := evaluate[float64](b, `performance.getEntriesByType("navigation")[0].transferSize + performance.getEntriesByType("resource").reduce((n, e) => n + e.transferSize, 0)`)
	t.Logf("first load of today: %.0f bytes", size)
	if size > 200_000 || size < 1000 {
		t.Errorf("the first load takes %.0f bytes, at most 200,000 are promised", size)
	}

	b.tap(`a[href="/m/drill/job/grease"]`)
	b.inspect("job", axe)
	evaluate[int](b, `document.querySelector("[name=which][value=all]").click(); 0`)
	b.tap(".go button")
	taps += 3
	b.says("greased all 48 openers on drill")
	b.inspect("recorded", axe)
	t.Logf("%d taps from the square to greased, all openers, today", taps)
	if taps > 8 {
		t.Errorf("%d taps, at most 8 are promised", taps)
	}

	b.visit(s.address + "/machines")
	b.inspect("machines", axe)
	b.tap(`a[href="/m/drill"]`)
	b.inspect("machine", axe)
	s.photographed(t)
	b.tap(`a[href="/m/drill/past"]`)
	b.inspect("past", axe)
	if wide := evaluate[int](b, `document.querySelector(".shot img").naturalWidth`); wide != 640 {
		t.Errorf("the photo is shown %d px wide, want 640", wide)
	}
	b.tap(`a[href^="/m/drill/correct/"]`)
	b.inspect("correct", axe)
	b.visit(s.address + "/m/drill/past")
	b.tap(`a[href^="/m/drill/strike/"]`)
	b.inspect("strike", axe)
	for _, kind := range []string{"fault", "repair", "note", "counter", "adjust", "swap", "swap?what=disc", "hitch", "store", "move"} {
		b.visit(s.address + "/m/drill/record/" + kind)
		b.inspect(strings.ReplaceAll(kind, "?what=", "-"), axe)
	}
	b.visit(s.address + "/seasons")
	b.inspect("seasons", axe)
	for _, look := range []string{"wear", "compare", "spec", "show?words=opener/12"} {
		b.visit(s.address + "/m/drill/" + look)
		b.inspect(strings.TrimSuffix(look, "?words=opener/12"), axe)
	}
	b.visit(s.address + "/m/drill/record/counter")
	evaluate[int](b, `document.querySelector("[name=value]").value = "12"; 0`)
	b.tap(".go button")
	b.says("Is that right?")
	b.inspect("odd", axe)
	b.tap(`[name=change]`)
	b.visit(s.address + "/m/nowhere")
	b.inspect("none", axe)
	for _, w := range evaluate[[]string](b, "window.refused || []") {
		t.Error("policy: " + w)
	}
}

// keys types by keys alone into whatever has the focus.
func (b *tab) keys(text string) {
	b.t.Helper()
	_, err := chromedp.Run(b.ctx, chromedp.KeyEvent(text))
	must(b.t, err)
}

// Forty-eight readings by keys alone, the connection cut at the 20th, the page reloaded, carried on and signed once.
func TestPhoneRoundInBrowser(t *testing.T) {
	if !full() {
		return
	}
	axe, s := axe(t), serve(t, newStage(t))
	b := openAt(t, chromiumWith(t, "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"), s.invitation)
	b.look("screen", "light", 412)
	b.pairUp(s)
	page := s.address + "/m/drill/measure/disc-reach"
	b.visit(page)
	b.inspect("round", axe)
	n := evaluate[int](b, `document.querySelectorAll("[name^='v.']").length`)
	if n != 48 {
		t.Fatalf("%d places", n)
	}
	offline := func(is bool) {
		call(b, network.EmulateNetworkConditionsByRule, network.EmulateNetworkConditionsByRuleParams{MatchedNetworkConditions: []*network.Conditions{{Offline: is, DownloadThroughput: -1, UploadThroughput: -1}}})
	}
	evaluate[int](b, `document.querySelector("[name^='v.']").focus(); 0`)
	for i := range 48 {
		if i == 19 {
			b.says("19 of 48 kept")
			offline(true)
		}
		if i == 24 {
			b.says("wait on this phone")
			b.shot("phone-round-offline")
			offline(false)
			b.says("24 of 48 kept")
			b.visit(page)
			b.says("24 of 48 kept")
			if focus := evaluate[string](b, `document.activeElement.name`); focus != evaluate[string](b, `document.querySelectorAll("[name^='v.']")[24].name`) {
				t.Errorf("after the reload the focus is on %q", focus)
			}
		}
		b.keys(fmt.Sprintf("5.%d\r", 2+i%5))
	}
	b.says("48 of 48 kept")
	b.keys("\r") // the focus stands on the last button
	b.says("48 of 48 openers measured")
	b.inspect("review", axe)
	b.tap(".go button")
	b.says("measured disc, edge to hub on all 48 openers: 5.2 to 5.6 in on drill")
	b.says("Next there")
	b.shot("phone-signed")
	out, err := exec.Command(s.program, "history", "drill", "--book", s.book, "--kind", "measure", "--last", "1", "--json").Output()
	must(t, err)
	if !strings.Contains(string(out), `"phone":"phone"`) || strings.Count(string(out), `"id"`) != 1 {
		t.Errorf("%s", out)
	}

	b.visit(page)
	evaluate[int](b, `document.querySelector("[name^='v.']").focus(); 0`)
	b.keys("30.2\r")
	b.says("30.2 in?")
	b.inspect("slip", axe)
	b.says("0 of 48 kept")
	evaluate[int](b, `document.querySelector("[name^='s.']").click(); 0`)
	b.says("1 of 48 kept")
}
