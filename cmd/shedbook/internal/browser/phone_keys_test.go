package browser

import (
	"fmt"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp/kb"
)

// touch taps where a finger would: at the middle of what a selector finds, whatever lies on top there.
func (b *tab) touch(selector string) {
	b.t.Helper()
	at := evaluate[[]float64](b, fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.scrollIntoView({block: "center"}); const r = e.getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2] })()`, selector))
	for _, kind := range []input.DispatchMouseEventType{input.DispatchMouseEventTypeMousePressed, input.DispatchMouseEventTypeMouseReleased} {
		call(b, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: kind, X: at[0], Y: at[1], Button: input.MouseButtonLeft, ClickCount: 1})
	}
}

// drawn are the places of the form's rows that look chosen: what a person sees, read from the colours.
const drawn = `[...document.querySelectorAll(".spot")].filter((e) => getComputedStyle(e.querySelector(".one span"), "::after").visibility === "visible").map((e) => e.querySelector(".one input").value.replace("opener/", "")).join(" ")`

// A range is the first and the last place tapped, whichever comes first, without script; places one by one go with it. What is drawn as chosen is recorded.
func TestPhoneRange(t *testing.T) {
	if !full() {
		return
	}
	s := serve(t, newStage(t))
	b := openAt(t, chromiumWith(t, "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"), s.invitation)
	b.look("screen", "light", 320)
	b.pairUp(s)
	b.visit(s.address + "/m/drill/record/swap?what=scraper")
	if n := evaluate[int](b, "document.scripts.length"); n != 0 {
		t.Errorf("%d scripts", n)
	}
	spot := func(n int) string { return fmt.Sprintf(".spot:has([value='opener/%d'])", n) }
	shows := func(when, want string) {
		t.Helper()
		if got := evaluate[string](b, drawn); got != want {
			t.Errorf("%s: %q is drawn, not %q", when, got, want)
		}
	}
	b.touch(spot(2))
	shows("one tapped", "2")
	b.touch("label:has([name=tap][value=range])")
	b.touch(spot(15))
	shows("the first of a range", "2")
	b.touch(spot(9))
	shows("and the last", "9 11 13 15 2")
	b.touch(spot(11))
	shows("another last", "11 13 15 2")
	b.shot("phone-range-light-320")
	b.touch(".spots .none")
	shows("no range", "2")
	b.touch(spot(5))
	shows("from another place, with the last as it was", "5 7 9 11 2")
	b.touch("label:has([name=tap][value=''])")
	b.touch(spot(48))
	shows("one more", "5 7 9 11 2 48")
	b.touch("label:has([name=why][value=worn])")
	b.tap(".go button")
	b.says("drill")
	out, err := exec.Command(s.program, "history", "drill", "--book", s.book, "--kind", "swap", "--last", "1", "--json").Output()
	must(t, err)
	if !strings.Contains(string(out), `"positions":["opener/2","opener/5","opener/7","opener/9","opener/11","opener/48"]`) {
		t.Errorf("%s\n%s", out, b.text())
	}
}

// reach goes on by the tabulator until the focus is on what a selector finds.
func (b *tab) reach(selector string) {
	b.t.Helper()
	for range 250 {
		b.keys(kb.Tab)
		if evaluate[bool](b, fmt.Sprintf("document.activeElement.matches(%q)", selector)) {
			if !evaluate[bool](b, "document.activeElement.checkVisibility()") {
				b.t.Fatalf("%s has the focus and cannot be seen", selector)
			}
			return
		}
	}
	b.t.Fatalf("no key leads to %s:\n%s", selector, b.text())
}

// press sends Enter or a blank where the focus is, and waits for the page that follows.
func (b *tab) press(key string) {
	b.t.Helper()
	before := evaluate[string](b, "window.stamp = String(Math.random())")
	b.keys(key)
	b.settled(before)
}

// Each flow by keys alone: from the list to a job done, a part swapped, a machine hitched, a season closed, a comparison, an entry put right and one taken back.
func TestPhoneByKeys(t *testing.T) {
	if !full() {
		return
	}
	s := serve(t, newStage(t))
	b := openAt(t, chromiumWith(t, "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"), s.invitation+"?to=/m/drill/job/grease")
	b.look("screen", "light", 320)
	b.reach("[name=person]")
	b.keys(" ")
	b.reach("button")
	b.press("\r")
	fmt.Fprintln(s.typed, evaluate[string](b, `document.querySelector(".number").innerText`))
	b.says("Before you begin") // at the job, by itself
	b.reach("[name=which]")
	for range 3 { // arrows go round a group
		if !evaluate[bool](b, `document.activeElement.value === "all"`) {
			b.keys(kb.ArrowDown)
		}
	}
	b.reach(".go button")
	b.press("\r")
	b.says("greased all 48 openers on drill")

	b.reach(`a[href="/m/drill"]`)
	b.press("\r")
	b.reach(`a[href="/m/drill/record/swap"]`)
	b.press("\r")
	b.reach(`a[href$="what=scraper"]`)
	b.press("\r")
	b.reach(`[name=at][value="opener/3"]`)
	b.keys(" ")
	b.reach("[name=why]")
	b.keys(" ")
	b.reach(".go button")
	b.press("\r")
	b.says("scraper")
	b.says("opener 3")

	b.reach(`a[href="/m/drill/past"]`)
	b.press("\r")
	b.reach(`a[href^="/m/drill/correct/"]`)
	b.press("\r")
	b.reach("[name=note]")
	b.keys("the left one")
	b.reach(".go button")
	b.press("\r")
	b.says("corrected entry")

	b.visit(s.address + "/m/drill/record/hitch")
	b.reach("[name=what]")
	b.keys(" ")
	b.reach(".go button")
	b.press("\r")
	b.says("hitched")

	b.visit(s.address + "/m/drill/record/store")
	b.reach("[name=slack]")
	b.keys("springs")
	b.reach(".go button")
	b.press("\r")
	b.says("storage")

	b.visit(s.address + "/m/drill/record/counter")
	b.reach("[name=value]")
	b.keys("0")
	b.reach("summary")
	b.keys(" ")
	b.reach("[name=act]")
	b.keys(kb.ArrowDown + kb.ArrowDown + kb.ArrowDown)
	b.reach("[name=last]")
	b.keys("9900")
	b.reach(".go button")
	b.press("\r")
	if strings.Contains(b.text(), "Is that right?") {
		b.reach("button.second")
		b.press("\r")
	}
	b.says("replaced")

	b.visit(s.address + "/seasons")
	b.reach(`a[href*="what=close"]`)
	b.press("\r")
	b.reach(".go button")
	b.press("\r")
	b.says("closed")

	b.visit(s.address + "/m/drill/compare")
	b.reach("[name=one]")
	b.says("beside this one")
	b.visit(s.address + "/m/drill/show")
	b.reach("[name=words]")
	b.keys("opener/12\r")
	time.Sleep(100 * time.Millisecond)
	b.says("What was recorded of it")

	b.visit(s.address + "/m/drill/past")
	b.reach(`a[href^="/m/drill/strike/"]`)
	b.press("\r")
	b.reach(".go button")
	b.press("\r")
	b.says("took back entry")
}
