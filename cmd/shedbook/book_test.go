package main

import (
	"bytes"
	"crypto/sha256"
	"io"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"shedbook/ledger"
	"shedbook/rules"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// testBook is a book of a made-up family in a temporary folder. Its clock stands where the last call put it, so ids repeat from run to run.
type testBook struct {
	t    testing.TB
	dir  string
	vars map[string]string
	now  time.Time
	rand io.Reader
	yard record.ID
}

// newTestBook starts a book for Wren Alder on 1 January 2026, with Alder Farm and its yard home.
func newTestBook(t testing.TB) *testBook {
	dir := t.TempDir()
	b := &testBook{t: t, dir: filepath.Join(dir, "book"), vars: map[string]string{"SHEDBOOK_CONFIG": filepath.Join(dir, "config"), "COLUMNS": "80"}, rand: rand.NewChaCha8(sha256.Sum256([]byte(t.Name())))}
	b.at("2026-01-01T08:00")
	b.must("new", b.dir, "--name", "Alder book", "--me", "Wren Alder", "--farm", "Alder Farm", "--yard", "home", "--units", "us")
	b.vars["SHEDBOOK_BOOK"] = b.dir
	b.yard = b.state().Yards[0].ID
	return b
}

// at sets the clock.
func (b *testBook) at(minute string) {
	now, err := time.Parse("2006-01-02T15:04", minute)
	if err != nil {
		b.t.Fatal(err)
	}
	b.now = now
}

func (b *testBook) env(stdout, stderr io.Writer) *env {
	return &env{stdin: strings.NewReader(""), stdout: stdout, stderr: stderr, getenv: func(k string) string { return b.vars[k] }, now: func() time.Time { return b.now }, random: b.rand, dir: b.dir}
}

// run runs a command line.
func (b *testBook) run(args ...string) (stdout, stderr string, code int) {
	var o, e bytes.Buffer
	code = run(b.env(&o, &e), args)
	return o.String(), e.String(), code
}

// must runs a command that has to do what it is asked, and returns what it printed.
func (b *testBook) must(args ...string) string {
	b.t.Helper()
	o, e, code := b.run(args...)
	if code != 0 {
		b.t.Fatalf("shedbook %s: exit %d\n%s%s", strings.Join(args, " "), code, o, e)
	}
	return o
}

// call is a call as a command gets it.
func (b *testBook) call() *call {
	return &call{env: b.env(io.Discard, io.Discard), common: &common{color: "never"}, cmd: &command{}}
}

// state is what is so at the clock's day.
func (b *testBook) state() *rules.State {
	b.t.Helper()
	bk, err := b.call().open()
	if err != nil {
		b.t.Fatal(err)
	}
	st, err := bk.now()
	if err != nil {
		b.t.Fatal(err)
	}
	return st
}

// add signs and stores one entry at a minute. A machine gets a key of its own; other work takes its machine's.
func (b *testBook) add(minute string, r record.Record, p *record.Private) record.ID {
	b.t.Helper()
	id, err := b.try(minute, r, p)
	if err != nil {
		b.t.Fatalf("%s: %v", r.Kind(), err)
	}
	return id
}

// try is add where the entry may be refused: then nothing is stored.
func (b *testBook) try(minute string, r record.Record, p *record.Private) (record.ID, error) {
	b.t.Helper()
	b.at(minute)
	c := b.call()
	var id record.ID
	err := c.write(func(w *writing) error {
		var key *ledger.MachineKey
		if m, ok := r.(*record.Machine); ok {
			k, err := ledger.NewMachineKey(w.c.random)
			if err != nil {
				return err
			}
			text, err := k.MarshalText()
			if err != nil {
				return err
			}
			m.Key, key = string(text), &k
		} else if record.IsWork(r) {
			st, err := w.state("2030-01-01", "")
			if err != nil {
				return err
			}
			var k ledger.MachineKey
			if err := k.UnmarshalText([]byte(st.MachineByID(record.MachineOf(r)).Key)); err != nil {
				return err
			}
			key = &k
		}
		e, err := w.add(r, p, key)
		if err == nil {
			id = record.ID(e.ID().String())
		}
		return err
	})
	return id, err
}

// use puts a schedule text into use.
func (b *testBook) use(text string) {
	b.t.Helper()
	s, err := schedule.Parse("test.toml", []byte(text))
	if err != nil {
		b.t.Fatal(err)
	}
	b.add(b.now.Format("2006-01-02T15:04"), &record.Schedule{Name: s.Name, Text: text}, nil)
}

// machine adds one.
func (b *testBook) machine(minute, name, kind string, options ...record.Option) record.ID {
	b.t.Helper()
	return b.add(minute, &record.Machine{Work: record.Work{Done: record.Done(minute)}, Name: name, Schedule: kind, Yard: b.yard, Options: options}, nil)
}
