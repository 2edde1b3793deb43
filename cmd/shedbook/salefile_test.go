package main

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"

	"shedbook/rules"
)

// A book of which a line was changed still gives a sale file: its first words say that it does not verify, and the command ends with 3.
func TestSaleFileOfAnUnsoundBook(t *testing.T) {
	tb := newTestBook(t)
	tb.must("machine", "add", "drill", "disc-drill", "--options", "openers=8")
	tb.must("farm", "add", "Creekside")
	open, err := tb.call().open()
	if err != nil {
		t.Fatal(err)
	}
	logs, err := open.store.Logs()
	if err != nil {
		t.Fatal(err)
	}
	last := len(logs[0].Lines) - 1
	logs[0].Lines[last] = bytes.Replace(bytes.Clone(logs[0].Lines[last]), []byte("Creekside"), []byte("Brookside"), 1)
	c := &call{env: tb.env(io.Discard, io.Discard), common: &common{}, cmd: &command{}}
	b := &book{c: c, store: open.store, states: map[rules.Options]*rules.State{}}
	if err := b.load(logs); err != nil {
		t.Fatal(err)
	}
	s, err := b.saleFile(&saleOptions{machine: "drill"})
	if err != nil {
		t.Fatal(err)
	}
	page, err := s.page()
	if err != nil {
		t.Fatal(err)
	}
	warned, wrong := strings.Index(string(page), "does not verify"), strings.Index(string(page), "What is wrong today")
	if s.sound || warned < 0 || warned > wrong {
		t.Errorf("sound %v, the warning at %d, the first section at %d", s.sound, warned, wrong)
	}
	var code exitCode
	if err := s.whole.soundness(); !errors.As(err, &code) || code != exitUnsound {
		t.Errorf("got %v, want exit 3", err)
	}
}
