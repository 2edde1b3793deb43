package ledger

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Devices come in the order in which they were admitted, then those who wait;
// names and labels are those of the private parts; several devices of one
// person share its id and name.
func TestDevices(t *testing.T) {
	w := newWorld(t)
	fay, paper := w.found("fay")
	ned, moe := w.join("ned", fay), w.join("moe", fay)
	fay.pull(ned, moe)
	first := fay.sign(Draft{Class: Control, Kind: KindAdmit,
		Record: Admit{Key: ned.public(), Role: RoleWorker}, Private: ControlPrivate{Name: "Ned Quillfeather", Device: "phone"}})
	tab := w.join("tab", fay)
	fay.pull(tab)
	second := fay.sign(Draft{Class: Control, Kind: KindAdmit,
		Record: Admit{Key: tab.public(), Role: RoleWorker, Person: first.ID()}, Private: ControlPrivate{Device: "tablet"}})
	fay.stop(ned)
	id := fay.book.ID()
	ref := func(d *device) []Ref { return fay.book.Tips(d.writer()) }
	want := []Device{
		{Writer: paper.writer(), Key: paper.public(), Role: RoleRecovery, Admit: id},
		{Writer: fay.writer(), Key: fay.public(), Role: RoleOwner, Admit: id, Person: id, Founder: true,
			Name: "Fay Quillfeather", Label: "shed laptop", Entries: 4, Tips: ref(fay)},
		{Writer: ned.writer(), Key: ned.public(), Role: RoleWorker, Admit: first.ID(), Person: first.ID(),
			Name: "Ned Quillfeather", Label: "phone", Entries: 1, Tips: ref(ned), Stopped: true},
		{Writer: tab.writer(), Key: tab.public(), Role: RoleWorker, Admit: second.ID(), Person: first.ID(),
			Name: "Ned Quillfeather", Label: "tablet", Entries: 1, Tips: ref(tab)},
		{Writer: moe.writer(), Key: moe.public(), Pending: true, Name: "moe", Label: "moe's phone", Entries: 1, Tips: ref(moe)},
	}
	if diff := cmp.Diff(want, fay.book.Judge().Devices()); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if d, ok := fay.book.Judge().Device(Writer{1}); ok {
		t.Errorf("a device nobody knows: %+v", d)
	}
}

// unread puts an entry that this version cannot read into d's log.
func unread(t *testing.T, d *device, old, new string, draft Draft) *Entry {
	t.Helper()
	at, err := d.book.Next(d.writer())
	if err != nil {
		t.Fatal(err)
	}
	e := d.make(draft, at)
	line := strings.Replace(string(e.Line()), old, new, 1)
	if line == string(e.Line()) {
		t.Fatalf("no %q in %s", old, line)
	}
	// Recompute the body's digest, then sign again.
	body := ID(sum256(line[len(`{"body":`):strings.Index(line, `,"head":`)]))
	signed := strings.Replace(line, e.Head().Body.String(), body.String(), 1)
	e2, err := Verify(resign(t, d, &Entry{line: []byte(signed)}, body.String(), body.String()), d.key.Public())
	if err != nil {
		t.Fatal(err)
	}
	if err := d.book.Append(e2); err != nil {
		t.Fatal(err)
	}
	return e2
}

// A control entry that this version cannot read makes the book read-only if it
// is an owner's and counts; otherwise it is a finding and changes nothing. So
// does a format above 1 that has effect.
func TestReadOnly(t *testing.T) {
	admit := func(d *device) Draft { return admitDraft(d, RoleWorker) }
	for _, c := range []struct {
		name     string
		run      func(w *world, fay, ned *device) *device
		readOnly string
		findings []string
	}{
		{"a known book", func(w *world, fay, ned *device) *device { fay.control(KindFormat, Format{V: 1}); return fay }, "", nil},
		{"unknown kind by an owner", func(w *world, fay, ned *device) *device {
			unread(t, fay, `"kind":"admit"`, `"kind":"crown"`, admit(ned))
			return fay
		}, `unknown kind of control entry "crown": newer shedbook needed`, []string{CodeUnknownControl}},
		{"unknown member by an owner", func(w *world, fay, ned *device) *device {
			unread(t, fay, `"role":"worker"`, `"role":"worker","until":"2027"`, admit(ned))
			return fay
		}, `admit: json: unknown field "until": newer shedbook needed`, []string{CodeUnknownControl}},
		{"unknown role by an owner", func(w *world, fay, ned *device) *device {
			unread(t, fay, `"role":"worker"`, `"role":"guest"`, admit(ned))
			return fay
		}, `admit: unknown role "guest": newer shedbook needed`, []string{CodeUnknownControl}},
		{"unknown kind by a worker", func(w *world, fay, ned *device) *device {
			unread(t, ned, `"kind":"admit"`, `"kind":"crown"`, admit(fay))
			return ned
		}, "", []string{CodeUnknownControl}},
		{"unknown kind by someone not admitted", func(w *world, fay, ned *device) *device {
			tia := w.join("tia", fay)
			unread(t, tia, `"kind":"admit"`, `"kind":"crown"`, admit(fay))
			return tia
		}, "", []string{CodeUnknownControl}},
		{"unknown kind by an owner after its stop", func(w *world, fay, ned *device) *device {
			ola := w.join("ola", fay)
			fay.pull(ola)
			fay.admit(ola, RoleOwner)
			fay.stop(ola)
			ola.pull(fay)
			unread(t, ola, `"kind":"admit"`, `"kind":"crown"`, admit(ned))
			return ola
		}, "", []string{CodeAfterStop}},
		{"a newer format", func(w *world, fay, ned *device) *device { fay.control(KindFormat, Format{V: 2}); return fay },
			"moved the book to format 2: a newer shedbook is needed to write to it", nil},
		{"a newer format by a worker", func(w *world, fay, ned *device) *device { ned.control(KindFormat, Format{V: 2}); return ned },
			"", []string{CodeNoEffect}},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := newWorld(t)
			fay, ned, _ := farm(w)
			b := load1(t, c.run(w, fay, ned).logs())
			got := b.Judge().ReadOnly()
			if (got == "") != (c.readOnly == "") || !strings.HasSuffix(got, c.readOnly) {
				t.Errorf("read only: %q, want %q", got, c.readOnly)
			}
			if diff := cmp.Diff(c.findings, codes(b.Judge().Findings())); diff != "" {
				t.Errorf("findings: %s\n%v", diff, b.Judge().Findings())
			}
			if err := b.Sound(); err != nil {
				t.Error(err)
			}
		})
	}
}

// A book admits 256 devices in its life, founder and recovery key included.
func TestMaxWriters(t *testing.T) {
	w := newWorld(t)
	fay, _ := w.found("fay")
	for range MaxWriters - 2 {
		fay.admit(w.device("hand"), RoleWorker)
	}
	if f := fay.book.Judge().Findings(); len(f) != 0 {
		t.Fatal(f)
	}
	fay.admit(w.device("one too many"), RoleWorker)
	f := fay.book.Judge().Findings()
	if len(f) != 1 || f[0].Code != CodeNoEffect || f[0].Message != "the admit has no effect: the book has its 256 devices: no more can be admitted" {
		t.Errorf("%v", f)
	}
	if got := len(fay.book.Judge().Devices()); got != MaxWriters {
		t.Errorf("%d devices", got)
	}
}

// More from strangers than is kept is reported.
func TestPendingLimits(t *testing.T) {
	w := newWorld(t)
	fay, _ := w.found("fay")
	hand := w.join("hand", fay)
	note := Draft{Class: Work, Kind: "note", Machine: &w.machine, Record: map[string]any{"text": strings.Repeat("hay ", 15000)}}
	for range MaxPendingBytes/60000 + 1 {
		hand.sign(note)
	}
	fay.pull(hand)
	if diff := cmp.Diff([]string{CodePendingTooLarge}, codes(fay.book.Judge().Findings())); diff != "" {
		t.Error(diff)
	}
	fay.admit(hand, RoleWorker)
	if f := fay.book.Judge().Findings(); len(f) != 0 {
		t.Error(f)
	}
	var many []*device
	for range MaxPendingLogs + 1 {
		many = append(many, w.join("stranger", fay))
	}
	fay.pull(many...)
	f := fay.book.Judge().Findings()
	if len(f) != 1 || f[0].Message != "65 devices wait to be admitted, more than 64" {
		t.Errorf("%v", f)
	}
}
