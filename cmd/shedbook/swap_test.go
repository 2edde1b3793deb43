package main

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shedbook/rules/schedule"
)

// A used part goes back in by its id, short or whole, from the shelf or from where nobody knows, and keeps its acres.
func TestSwapIn(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	drill := s.idOfName("machine", "drill")
	s.must(`shedbook counter drill 1000 --done 2026-03-01`)
	s.must(`shedbook swap drill 12 disc --counter 1100 --done 2026-03-02`)
	all := s.entries()
	swap := all[len(all)-1].id
	s.must(`shedbook swap drill 12 disc --out --to-shelf --counter 1160 --done 2026-03-03`)
	s.must(`shedbook swap drill 13 disc --out --done 2026-03-03`)
	for _, test := range []struct {
		line string
		want map[string]any
	}{
		{`swap drill 30 disc --in shelf --done 2026-03-04`, map[string]any{"parts": []any{swap + "/opener/12"}, "from": s.shelfOf("home"), "positions": []any{"opener/30"}, "said": "30"}},
		{`swap drill 12 disc --in ` + "original/" + drill[:8] + "/disc/opener/13" + ` --done 2026-03-05`, map[string]any{"parts": []any{"original/" + drill + "/disc/opener/13"}, "positions": []any{"opener/12"}, "said": "12"}},
		{`swap drill 30 disc --out --done 2026-03-06`, nil},
		{`swap drill2 2 disc --in ` + swap[:8] + ` --done 2026-03-07`, map[string]any{"parts": []any{swap + "/opener/12"}, "positions": []any{"opener/2"}, "said": "2"}},
	} {
		s.must("shedbook " + test.line)
		all := s.entries()
		got := all[len(all)-1]
		if test.want == nil {
			continue
		}
		test.want["act"], test.want["part"] = "in", "disc"
		done := got.record["done"]
		delete(got.record, "done")
		if d := cmp.Diff(test.want, got.record); d != "" || !strings.HasSuffix(test.line, done.(string)) {
			t.Errorf("%s: %v %s", test.line, done, d)
		}
	}
	// new at 1100 ac, off at 1160, in again where the counter stands still
	if out := s.must(`shedbook show drill2 2 disc`); !strings.Contains(out, "60 ac") {
		t.Errorf("the disc has run 60 ac:\n%s", out)
	}
}

// shelfOf is the id of a yard's shelf.
func (s *shed) shelfOf(yard string) string {
	s.t.Helper()
	id := s.idOfName("yard", yard)
	for _, e := range s.entries() {
		if e.kind == "shelf" && e.record["yard"] == id {
			return e.id
		}
	}
	s.t.Fatalf("%s has no shelf", yard)
	return ""
}

// A machine brings its kind's whole built-in text into the book, once, so that results stay what they are when the program's own text changes.
func TestMachineAddUsesSchedule(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	texts := map[string][]string{}
	for _, e := range s.entries() {
		if e.kind == "schedule" {
			name := e.record["name"].(string)
			texts[name] = append(texts[name], e.record["text"].(string))
		}
	}
	for _, name := range []string{"disc-drill", "tractor"} {
		built, ok := schedule.Builtin(name)
		if !ok || len(texts[name]) != 1 || texts[name][0] != built.Text {
			t.Errorf("%s: %d texts in the book, want the built-in one once", name, len(texts[name]))
		}
	}
}
