package rules

import (
	"testing"

	"shedbook/rules/record"
)

// face is a counter's curve as "done face life act", point by point.
func face(c *Counter) []string {
	var out []string
	for _, p := range c.Points {
		out = append(out, string(p.Done)+" "+p.Face.String()+" / "+p.Life.String()+" "+p.Act)
	}
	return out
}

func TestCounters(t *testing.T) {
	for _, c := range []struct {
		name    string
		counter string
		write   func(b *notebook)
		points  []string
		reading string
		life    string
		codes   []string
	}{
		{"never read", "area", func(b *notebook) {}, nil, "0 ac", "0 ac", nil},
		{"readings of counters and of other work", "area", func(b *notebook) {
			b.reads("2026-04-01", "area at 1812 ac")
			b.add(&record.Note{Work: b.on("2026-04-09", "area 1900 ac")})
		}, []string{"2026-04-01 1812 ac / 1812 ac at", "2026-04-09 1900 ac / 1900 ac at"}, "1900 ac", "1900 ac", nil},
		{"a reading entered late", "area", func(b *notebook) {
			b.reads("2026-04-09", "area at 1900 ac")
			b.reads("2026-04-01", "area at 1812 ac")
		}, []string{"2026-04-01 1812 ac / 1812 ac at", "2026-04-09 1900 ac / 1900 ac at"}, "1900 ac", "1900 ac", nil},
		{"additions", "area", func(b *notebook) {
			b.reads("2026-04-01", "area at 1812 ac")
			b.reads("2026-04-02", "area add 38.5 ac")
			b.reads("2026-04-03", "area add 40 ac")
		}, []string{"2026-04-01 1812 ac / 1812 ac at", "2026-04-02 1850.5 ac / 1850.5 ac add", "2026-04-03 1890.5 ac / 1890.5 ac add"}, "1890.5 ac", "1890.5 ac", nil},
		// The face went 310 - 320 and then from 0: use 320, then 40 more, then 25 more in the year whose zeroing nobody read before.
		{"zeroed each spring", "field", func(b *notebook) {
			b.reads("2024-05-20", "field at 310 ac")
			b.reads("2025-04-01", "field reset last 320 ac")
			b.reads("2025-04-10", "field at 40 ac")
			b.reads("2026-04-01", "field reset")
			b.reads("2026-04-10", "field at 25 ac")
		}, []string{"2024-05-20 310 ac / 310 ac at", "2025-04-01 320 ac / 320 ac last", "2025-04-01 0 ac / 320 ac reset", "2025-04-10 40 ac / 360 ac at",
			"2026-04-01 0 ac / 360 ac reset", "2026-04-10 25 ac / 385 ac at"}, "25 ac", "385 ac", nil},
		// 1812 + (1830 - 1812) + 20 = 1850; the new counter came with 2 on it.
		{"replaced", "area", func(b *notebook) {
			b.reads("2026-04-01", "area at 1812 ac")
			b.reads("2026-04-10", "area replaced 2 ac last 1830 ac")
			b.reads("2026-04-20", "area at 22 ac")
		}, []string{"2026-04-01 1812 ac / 1812 ac at", "2026-04-10 1830 ac / 1830 ac last", "2026-04-10 2 ac / 1830 ac replaced", "2026-04-20 22 ac / 1850 ac at"}, "22 ac", "1850 ac", nil},
		{"backwards is left out", "area", func(b *notebook) {
			b.reads("2026-04-01", "area at 1812 ac")
			b.reads("2026-04-05", "area at 1182 ac")
			b.reads("2026-04-10", "area at 1840 ac")
		}, []string{"2026-04-01 1812 ac / 1812 ac at", "2026-04-10 1840 ac / 1840 ac at"}, "1840 ac", "1840 ac", []string{"counter-backwards"}},
		{"readings of one day have no order", "area", func(b *notebook) {
			b.reads("2026-04-01", "area at 1830 ac")
			b.reads("2026-04-01", "area at 1812 ac")
		}, []string{"2026-04-01 1812 ac / 1812 ac at", "2026-04-01 1830 ac / 1830 ac at"}, "1830 ac", "1830 ac", nil},
		// 100 ha = 247.105 ac (international acre, 4,046.8564224 m2), to three decimals.
		{"in another unit", "area", func(b *notebook) {
			b.reads("2026-04-01", "area at 100 ha")
		}, []string{"2026-04-01 247.105 ac / 247.105 ac at"}, "247.105 ac", "247.105 ac", nil},
		{"of another dimension", "area", func(b *notebook) {
			b.reads("2026-04-01", "area at 100 h")
		}, nil, "0 ac", "0 ac", []string{"counter-unit"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newNotebook(t)
			c.write(b)
			s := b.state("2026-12-31")
			n := s.Machine("drill").Counters[c.counter]
			wantList(t, "points", face(n), c.points...)
			wantQ(t, "reading", n.Reading, c.reading)
			wantQ(t, "life", n.Life, c.life)
			wantList(t, "problems", codes(s), c.codes...)
			wantEqual(t, "known", n.Known, len(c.points) > 0)
		})
	}
}

func TestCounterBackwardsNamesBoth(t *testing.T) {
	b := newNotebook(t)
	first := b.reads("2026-04-01", "area at 1812 ac")
	second := b.reads("2026-04-05", "area at 1182 ac")
	p := problems(b.state("2026-04-05"), "counter-backwards")
	if len(p) != 1 {
		t.Fatalf("%d problems", len(p))
	}
	wantList(t, "entries", p[0].Entries, first, second)
	wantEqual(t, "message", p[0].Message, "drill: counter area showed 1812 ac on 2026-04-01 and is said to show 1182 ac on 2026-04-05: the later one is left out; correct whichever is wrong, or record that the counter was reset or replaced")
	if p := problems(b.state("2026-04-04"), "counter-backwards"); len(p) != 0 {
		t.Errorf("said before it came: %v", p)
	}
}

func TestCounterSpan(t *testing.T) {
	b := newNotebook(t)
	b.add(&record.Counter{Work: b.on("2026-04-01"), Acts: []record.CounterAct{{Counter: "area", Act: "reset", Span: "trip"}}})
	wantEqual(t, "trip before", b.drill("2026-03-31").Counters["area"].Trip, false)
	wantEqual(t, "trip after", b.drill("2026-04-01").Counters["area"].Trip, true)
	wantEqual(t, "field is a trip counter by its schedule", b.drill("2026-04-01").Counters["field"].Trip, true)
}

func TestCounterNotInSchedule(t *testing.T) {
	b := newNotebook(t)
	id := b.reads("2026-04-01", "bales at 12")
	s := b.state("2026-04-01")
	wantQ(t, "kept all the same", s.Machine("drill").Counters["bales"].Life, "12")
	p := problems(s, "unknown-name")
	wantEqual(t, "problems", len(p), 1)
	wantList(t, "entries", p[0].Entries, id)
}

func TestCounterReasons(t *testing.T) {
	b := newNotebook(t)
	b.reads("2026-03-01", "area at 1800 ac")
	read := b.reads("2026-04-01", "area at 1812 ac")
	more := b.reads("2026-04-02", "area add 20 ac")
	wantList(t, "reason", b.drill("2026-04-02").Counters["area"].Reason.Entries, read, more)
}
