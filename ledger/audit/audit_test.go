package audit

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

// A book that was kept as it should has no findings at all.
func TestCheckNothing(t *testing.T) {
	f := newFamily(t)
	f.ned.did(f.drill)
	f.ned.note(f.baler, "twine box lid is bent")
	f.fay.pull(f.ned)
	f.fay.stamp()
	if got := Check(f.fay.book, Options{Now: f.now}); len(got) > 0 {
		t.Errorf("%v", texts(got))
	}
	s := Summarize(f.fay.book, nil)
	if s.Entries != 10 || s.Counts != 10 || s.Logs != 2 || s.Devices != 3 || s.Work != 4 || s.Late != 0 || len(s.Stamps) != 1 || s.Stamps[0].After != 0 || !s.Sound() {
		t.Errorf("%+v", s)
	}
}

// The result does not depend on the order in which logs come.
func TestCheckOrder(t *testing.T) {
	f := newFamily(t)
	f.ned.shared("farm", map[string]any{"name": "Ned's"})
	f.ned.did(machine{f.baler.id, f.drill.key})
	f.fay.pull(f.ned)
	logs := f.fay.logs()
	want := texts(Check(f.load(logs), Options{}))
	if len(want) != 2 {
		t.Fatalf("%q", want)
	}
	logs[0], logs[1] = logs[1], logs[0]
	if diff := cmp.Diff(want, texts(Check(f.load(logs), Options{}))); diff != "" {
		t.Error(diff)
	}
}
