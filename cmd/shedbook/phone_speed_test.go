package main

import (
	"crypto/rand"
	"fmt"
	"net/url"
	"os"
	"strconv"
	"testing"
	"time"
)

// BenchmarkPhone times what the laptop takes to answer a phone, over a connection of this computer's own, on the made-up book of ten years: SHEDBOOK_BENCH
// says how many entries it has (10,000), SHEDBOOK_BENCH_DIR where books are kept. Each line is the median and the longest of 15 answers. The task asks for
// 100 ms a page at 100,000 entries.
func BenchmarkPhone(b *testing.B) {
	entries := 10_000
	if n, err := strconv.Atoi(os.Getenv("SHEDBOOK_BENCH")); err == nil {
		entries = n
	}
	if os.Getenv("SHEDBOOK_BENCH_DIR") == "" {
		b.Setenv("SHEDBOOK_BENCH_DIR", b.TempDir())
	}
	for range b.N { // once, with -benchtime 1x
		p := &phones{testBook: historyBook(b, entries, 1).copied()}
		p.rand, p.clock = rand.Reader, time.Now()
		started := time.Now()
		p.open()
		b.Logf("opened: %.1f s", time.Since(started).Seconds())
		people, err := p.shop.People()
		if err != nil {
			b.Fatal(err)
		}
		h := p.pair(people[0].Name, "barn phone")
		machines, err := p.shop.Machines()
		if err != nil {
			b.Fatal(err)
		}
		drill := ""
		for _, m := range machines {
			if x, err := p.shop.Job(m.Name, "grease"); err == nil && x.All >= 24 && drill == "" {
				drill = m.Name
			}
		}
		yard := machines[0].Yard
		tell := func(what string, walls []time.Duration, more string) {
			fmt.Printf("%-34s %6.1f ms, longest %6.1f ms%s\n", what, ms(median(walls)), ms(longest(walls)), more) // a benchmark's log is cut short
		}
		row := func(what string, n int, fn func(i int) page) {
			b.Helper()
			var walls []time.Duration
			size := 0
			for i := range n {
				started := time.Now()
				got := fn(i)
				walls = append(walls, time.Since(started))
				if got.status >= 400 {
					b.Fatalf("%s: %d %s", what, got.status, got.text)
				}
				size = len(got.text)
			}
			tell(what, walls, fmt.Sprintf(", %d bytes", size))
		}
		row("today, for the first time", 1, func(int) page { return h.get("/") })
		const again = 15
		for _, x := range []struct{ what, path string }{
			{"today", "/"}, {"today at one yard", "/?yard=" + url.QueryEscape(yard)}, {"machines", "/machines"}, {"a drill", "/m/" + drill}, {"its job", "/m/" + drill + "/job/grease"},
			{"a fault's form", "/m/" + drill + "/record/fault"}, {"what was recorded", "/m/" + drill + "/past"}, {"a round of readings", "/m/" + drill + "/measure/disc-reach"},
		} {
			row(x.what, again, func(int) page { return h.get(x.path) })
		}
		f := h.form("/m/" + drill + "/measure/disc-reach")
		keys := keysIn(h.get("/m/" + drill + "/measure/disc-reach").text)
		row("a reading kept", again, func(i int) page {
			return h.send("POST", "/m/"+drill+"/measure/disc-reach", url.Values{"token": {f.Get("token")}, "v." + keys[i%len(keys)]: {"5." + strconv.Itoa(1+i%7)}}, nil)
		})
		path := "/m/" + drill + "/record/note"
		form := h.form(path)
		var took, after []time.Duration
		for i := range again {
			form.Set("once", fmt.Sprint("bench ", i))
			form.Set("text", fmt.Sprint("note ", i))
			started := time.Now()
			if got := h.send("POST", "/record", form, nil); got.status >= 400 {
				b.Fatalf("%d %s", got.status, got.text)
			}
			took = append(took, time.Since(started))
			started = time.Now()
			h.get("/")
			after = append(after, time.Since(started))
		}
		tell("a note recorded", took, "")
		tell("  today after it", after, "")
	}
}

func ms(d time.Duration) float64 { return float64(d) / 1e6 }

func longest(all []time.Duration) time.Duration {
	var out time.Duration
	for _, d := range all {
		out = max(out, d)
	}
	return out
}
