package main

import (
	"fmt"
	"strings"
	"testing"
)

// A filled card of 48 openers is keyed in with four keystrokes an opener, the place and the unit being known: 192 in all. At one keystroke a second, which is
// slow, that is under four minutes; five are what is wanted of a card that comes back from the shop.
func TestKeystrokesOfAFilledCard(t *testing.T) {
	b := newTestBook(t)
	b.must("machine", "add", "drill", "disc-drill", "--options", "openers=48", "--counter", "area=1600ac")
	m := b.state().Machine("drill")
	want := map[string]string{}
	var keys strings.Builder
	for i, p := range m.Fitted.Walk(m.Fitted.All("opener")) {
		v := fmt.Sprintf("5.%d", 2+i%7)
		want[p.String()] = v + " in"
		keys.WriteString(v + "\n")
	}
	if n := keys.Len(); n > 5*48 || n > 300 {
		t.Errorf("%d keystrokes", n)
	}
	var out, talk strings.Builder
	e := b.env(&out, &talk)
	e.stdin = strings.NewReader(keys.String())
	if code := run(e, []string{"measure", "drill", "disc-reach", "--ask"}); code != 0 {
		t.Fatalf("exit %d: %s", code, talk.String())
	}
	got := b.state().Machine("drill").Readings["disc-reach"]
	if len(got) != len(want) {
		t.Fatalf("%d places read, want %d", len(got), len(want))
	}
	for slot, all := range got {
		if v := all[len(all)-1].Found.String(); v != want[slot] {
			t.Errorf("%s: %s, want %s", slot, v, want[slot])
		}
	}
}
