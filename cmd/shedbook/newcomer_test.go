package main

import (
	"path/filepath"
	"strings"
	"testing"
)

// A person who asks is admitted by the first name alone where nobody else who asks has it.
func TestAdmitByFirstName(t *testing.T) {
	founder := newTestBook(t)
	stick := filepath.Join(t.TempDir(), "stick")
	founder.must("sync", stick)
	for _, who := range []string{"Juno Alder", "Juno Rook", "Ash Tarn"} {
		one := founder.another()
		one.must("join", stick, one.dir, "--me", who, "--device", "laptop of "+who, "--units", "us")
		one.must("sync")
	}
	founder.must("sync")
	if _, said, code := founder.run("people", "admit", "juno", "--yes"); code != exitFailed || !strings.Contains(said, `2 people who ask are called "juno"`) {
		t.Errorf("exit %d: %s", code, said)
	}
	if got := founder.must("people", "admit", "ash", "--yes"); !strings.Contains(got, "Ash Tarn") {
		t.Errorf("admitted: %s", got)
	}
	founder.must("people", "admit", "Juno Rook", "--yes")
	if got := founder.must("people", "admit", "Juno", "--yes"); !strings.Contains(got, "Juno Alder") {
		t.Errorf("admitted: %s", got)
	}
}

// A repair that names a part says what makes the part a new one; a swap, a repair of no part and one of a fluid say nothing of it.
func TestRepairOfAPartPointsToSwap(t *testing.T) {
	b := newTestBook(t)
	b.must("machine", "add", "drill", "disc-drill")
	const hint = "shedbook swap drill opener/9 "
	for _, test := range []struct {
		line []string
		part string
	}{
		{[]string{"repair", "drill", "opener/9", "disc", "new one on"}, "disc"},
		{[]string{"repair", "drill", "opener/9", "new hub", "--used", "hub bearing=1"}, "hub-bearing"},
		{[]string{"repair", "drill", "opener/9", "arm straightened", "--used", "bolt=2"}, ""},
		{[]string{"swap", "drill", "opener/9", "disc"}, ""},
	} {
		out, said, code := b.run(test.line...)
		got := unwrapped(out + said)
		if code != 0 || strings.Contains(got, "not yet a new") != (test.part != "") || test.part != "" && !strings.Contains(got, hint+test.part) {
			t.Errorf("%s: exit %d\n%s", strings.Join(test.line, " "), code, got)
		}
	}
}
