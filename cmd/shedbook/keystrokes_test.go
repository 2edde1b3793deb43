package main

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// The keystroke-level model of Card, Moran and Newell, "The keystroke-level model for user performance time with interactive systems", Communications of the
// ACM 23 (1980) 396-410, figures recalled and not looked up: a key takes an average typist, not a secretary, 0.28 s (the best 0.08, typing random letters
// 0.50); to make up one's mind what comes next, here to find the next box on the card and read it, takes 1.35 s.
const (
	keyTime  = 280 * time.Millisecond
	mindTime = 1350 * time.Millisecond
)

// A filled card of 48 openers with two readings each is keyed in within five minutes at a published typing pace, the program's own time counted in: four keys a
// reading, the place and the unit being known, and one to sign. What is then in the book is what was typed.
func TestKeystrokesOfAFilledCard(t *testing.T) {
	b := newTestBook(t)
	b.must("machine", "add", "drill", "disc-drill", "--options", "openers=48", "--counter", "area=1600ac")
	m := b.state().Machine("drill")
	readings := []string{"disc-reach", "seed-depth"}
	want := map[string]string{}
	var keys strings.Builder
	answers := 0
	for i, p := range m.Fitted.Walk(m.Fitted.All("opener")) {
		for k, r := range readings {
			v := fmt.Sprintf("%d.%d", 5-3*k, 2+(i+k)%7)
			want[r+" "+p.String()] = v + " in"
			keys.WriteString(v + "\n")
			answers++
		}
	}
	keys.WriteString("\n")
	var out, talk strings.Builder
	e := b.env(&out, &talk)
	e.stdin = strings.NewReader(keys.String())
	begin := time.Now()
	code := run(e, append(append([]string{"measure", "drill"}, readings...), "--ask"))
	took := time.Since(begin)
	if code != 0 {
		t.Fatalf("exit %d: %s", code, talk.String())
	}
	n := keys.Len()
	pace := time.Duration(n)*keyTime + time.Duration(answers+1)*mindTime + took
	t.Logf("%d keys for %d readings of 48 openers, %v by the model, %v of it the program's", n, answers, pace.Round(time.Second), took.Round(time.Millisecond))
	if answers != 96 || n != 96*4+1 || pace > 5*time.Minute {
		t.Errorf("%d keys for %d readings take %v", n, answers, pace)
	}
	got := 0
	for _, r := range readings {
		for slot, all := range b.state().Machine("drill").Readings[r] {
			got++
			if v := all[len(all)-1].Found.String(); v != want[r+" "+slot] {
				t.Errorf("%s of %s: %s, want %s", r, slot, v, want[r+" "+slot])
			}
		}
	}
	if got != len(want) {
		t.Fatalf("%d readings in the book, want %d", got, len(want))
	}
}
