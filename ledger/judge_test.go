package ledger

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// want is what a case expects: the status of named entries, and the codes of
// the judgement's findings.
type want struct {
	status   map[string]Status
	findings []string
	why      string // in the message of the first finding of the first code
}

// The ranked-owner rule of FORMAT.md section "Who counts", case by case. Each
// case ends with one device holding everything; the verdict must be the same
// whatever order the logs come in.
func TestWhoCounts(t *testing.T) {
	type entries map[string]*Entry
	cases := []struct {
		law string
		run func(w *world) (*device, entries)
		want
	}{
		{
			law: "an entry of a device that nobody admitted is pending; once admitted all of them count",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				ned, moe := w.join("ned", fay), w.join("moe", fay)
				before, other := ned.note("before"), moe.note("moe")
				fay.pull(ned, moe)
				fay.admit(ned, RoleWorker)
				return fay, entries{"before": before, "moe": other}
			},
			want: want{status: map[string]Status{"before": Counts, "moe": Pending}},
		},
		{
			law: "a founder stopped by an owner it admitted: no effect",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				ola := w.join("ola", fay)
				fay.pull(ola)
				fay.admit(ola, RoleOwner)
				ola.pull(fay)
				ola.stop(fay)
				later := fay.note("later")
				ola.pull(fay)
				return ola, entries{"later": later}
			},
			want: want{status: map[string]Status{"later": Counts}, findings: []string{CodeNoEffect}, why: "ranks above its writer"},
		},
		{
			law: "two owners stop each other at once: the senior wins",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				ola, pim := w.join("ola", fay), w.join("pim", fay)
				fay.pull(ola, pim)
				fay.admit(ola, RoleOwner)
				fay.admit(pim, RoleOwner)
				ola.pull(fay)
				pim.pull(fay)
				a, b := ola.stop(pim), pim.stop(ola)
				fay.pull(ola, pim)
				return fay, entries{"ola": ola.note("o"), "pim": pim.note("p"), "stop by ola": a, "stop by pim": b}
			},
			want: want{
				status:   map[string]Status{"stop by ola": Counts, "stop by pim": Stopped},
				findings: []string{CodeAfterStop, CodeNoEffect}, why: "",
			},
		},
		{
			law: "an admit by an owner after the tip at which it was stopped does not count",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				ola := w.join("ola", fay)
				fay.pull(ola)
				fay.admit(ola, RoleOwner)
				ola.pull(fay)
				good := ola.note("good")
				fay.pull(ola)
				fay.stop(ola)
				ned := w.join("ned", ola)
				ola.pull(ned)
				late := ola.admit(ned, RoleWorker)
				work := ned.note("work")
				fay.pull(ola, ned)
				return fay, entries{"good": good, "late": late, "work": work}
			},
			want: want{
				status:   map[string]Status{"good": Counts, "late": Stopped, "work": Pending},
				findings: []string{CodeAfterStop, CodeNoEffect},
			},
		},
		{
			law: "a stopped key never returns: admitting it again changes nothing",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				ned := w.join("ned", fay)
				fay.pull(ned)
				fay.admit(ned, RoleWorker)
				fay.stop(ned)
				fay.admit(ned, RoleOwner)
				ned.pull(fay)
				return ned, entries{"after": ned.note("after")}
			},
			want: want{
				status:   map[string]Status{"after": Stopped},
				findings: []string{CodeAfterStop, CodeNoEffect},
			},
		},
		{
			law: "a key stopped before anyone admitted it stays out, whoever admits it later",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				ola, ned := w.join("ola", fay), w.join("ned", fay)
				fay.pull(ola, ned)
				fay.admit(ola, RoleOwner)
				fay.stop(ned)
				ola.pull(fay)
				ola.admit(ned, RoleWorker)
				return ola, entries{"request": ola.book.Entry(ned.book.Tips(ned.writer())[0].ID)}
			},
			want: want{
				status:   map[string]Status{"request": Pending},
				findings: []string{CodeNoEffect}, why: "a stopped key never returns",
			},
		},
		{
			law: "a stop leaves the earlier admission by a junior owner, and what it accepts counts",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				ola := w.join("ola", fay)
				fay.pull(ola)
				fay.admit(ola, RoleOwner)
				ola.pull(fay)
				ned := w.join("ned", ola)
				ola.pull(ned)
				ola.admit(ned, RoleWorker)
				work := ned.note("work")
				fay.pull(ola, ned)
				fay.stop(ned)
				return fay, entries{"work": work}
			},
			want: want{status: map[string]Status{"work": Counts}},
		},
		{
			law: "the first admission of a key wins, by (depth, id), even over a senior's later one",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				ola, ned := w.join("ola", fay), w.join("ned", fay)
				fay.pull(ola, ned)
				fay.admit(ola, RoleOwner)
				ola.pull(fay)
				ola.admit(ned, RoleWorker)
				fay.note("one")
				fay.note("two")
				fay.admit(ned, RoleOwner)
				ned.pull(fay)
				act := ned.control(KindFormat, Format{V: 1})
				ola.pull(ned, fay)
				return ola, entries{"act": act}
			},
			want: want{
				status:   map[string]Status{"act": Counts},
				findings: []string{CodeNoEffect, CodeNoEffect}, // fay's admit; ned, a worker, set a format
			},
		},
		{
			law: "the recovery key stops the founder",
			run: func(w *world) (*device, entries) {
				fay, paper := w.found("fay")
				good := fay.note("good")
				paper.start(fay)
				paper.stop(fay)
				bad := fay.note("by the thief")
				paper.pull(fay)
				return paper, entries{"good": good, "bad": bad}
			},
			want: want{status: map[string]Status{"good": Counts, "bad": Stopped}, findings: []string{CodeAfterStop}},
		},
		{
			law: "the recovery key names another, which ranks above the founder",
			run: func(w *world) (*device, entries) {
				fay, paper := w.found("fay")
				paper.start(fay)
				spare := w.join("spare", paper)
				paper.pull(spare)
				paper.admit(spare, RoleRecovery)
				spare.pull(paper, fay)
				spare.stop(fay)
				bad := fay.note("after")
				spare.pull(fay)
				return spare, entries{"bad": bad}
			},
			want: want{status: map[string]Status{"bad": Stopped}, findings: []string{CodeAfterStop}},
		},
		{
			law: "a key that the recovery key names is taken at once: an earlier admission by a junior does not undo that",
			run: func(w *world) (*device, entries) {
				fay, paper := w.found("fay")
				spare := w.join("spare", fay)
				fay.pull(spare)
				early := fay.admit(spare, RoleWorker)
				paper.start(fay)
				paper.pull(spare)
				paper.note("later")
				paper.admit(spare, RoleRecovery)
				spare.pull(paper)
				spare.stop(fay, early)
				bad := fay.note("after")
				spare.pull(fay)
				return spare, entries{"early": early, "bad": bad}
			},
			want: want{
				status:   map[string]Status{"early": Counts, "bad": Stopped},
				findings: []string{CodeAfterStop, CodeNoEffect}, why: "the first admission of a key is for life",
			},
		},
		{
			law: "an owner cannot name a recovery key",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				spare := w.join("spare", fay)
				fay.pull(spare)
				fay.admit(spare, RoleRecovery)
				return fay, entries{"request": spare.book.Entries()[1]}
			},
			want: want{status: map[string]Status{"request": Pending}, findings: []string{CodeNoEffect}, why: "only a recovery key"},
		},
		{
			law: "a stop on oneself has no effect",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				fay.stop(fay)
				return fay, entries{"after": fay.note("after")}
			},
			want: want{status: map[string]Status{"after": Counts}, findings: []string{CodeNoEffect}, why: "it stops its own log"},
		},
		{
			law: "a worker's admit, stop and format have no effect",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				ned, moe := w.join("ned", fay), w.join("moe", fay)
				fay.pull(ned, moe)
				fay.admit(ned, RoleWorker)
				ned.pull(fay)
				ned.admit(moe, RoleWorker)
				ned.stop(fay)
				ned.control(KindFormat, Format{V: 2})
				return ned, entries{"moe": moe.book.Entries()[1], "fay": fay.note("x")}
			},
			want: want{
				status:   map[string]Status{"moe": Pending},
				findings: []string{CodeNoEffect, CodeNoEffect, CodeNoEffect}, why: "only owners may do this",
			},
		},
		{
			law: "an owner's act from before its admission was known to it does not count, its work does",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				ola := w.join("ola", fay)
				fay.pull(ola)
				fay.admit(ola, RoleOwner)
				ned := w.join("ned", ola)
				ola.pull(ned)
				early := ola.admit(ned, RoleWorker) // has not seen its own admission
				work := ola.note("work")
				fay.pull(ola)
				return fay, entries{"early": early, "work": work, "ned": ned.book.Entries()[2]}
			},
			want: want{
				status:   map[string]Status{"early": Counts, "work": Counts},
				findings: []string{CodeNoEffect}, why: "not yet admitted when it was written",
			},
		},
		{
			law: "a fork: both chains are kept and count",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				twin := fay.copy()
				a, b := fay.note("here"), twin.note("there")
				fay.pull(twin)
				return fay, entries{"a": a, "b": b}
			},
			want: want{status: map[string]Status{"a": Counts, "b": Counts}},
		},
		{
			law: "a stop that names both tips of a fork keeps both chains",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				ned := w.join("ned", fay)
				fay.pull(ned)
				fay.admit(ned, RoleWorker)
				twin := ned.copy()
				a, b := ned.note("here"), twin.note("there")
				fay.pull(ned, twin)
				fay.stop(ned)
				c := twin.note("later")
				fay.pull(twin)
				return fay, entries{"a": a, "b": b, "c": c}
			},
			want: want{status: map[string]Status{"a": Counts, "b": Counts, "c": Stopped}, findings: []string{CodeAfterStop}},
		},
		{
			law: "a stop that names one tip of a fork (theft) leaves the other chain out from where it parts",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				ned := w.join("ned", fay)
				fay.pull(ned)
				fay.admit(ned, RoleWorker)
				shared := ned.note("shared")
				thief := ned.copy()
				a, b := ned.note("here"), thief.note("there")
				fay.pull(ned, thief)
				fay.stop(ned, a)
				return fay, entries{"shared": shared, "a": a, "b": b}
			},
			want: want{status: map[string]Status{"shared": Counts, "a": Counts, "b": Stopped}, findings: []string{CodeAfterStop}},
		},
		{
			law: "several stops of one log: an entry counts only if each of them accepts it",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				ola, ned := w.join("ola", fay), w.join("ned", fay)
				fay.pull(ola, ned)
				fay.admit(ola, RoleOwner)
				fay.admit(ned, RoleWorker)
				ola.pull(fay)
				one := ned.note("one")
				ola.pull(ned)
				two := ned.note("two")
				fay.pull(ned)
				fay.stop(ned)
				ola.stop(ned)
				fay.pull(ola)
				return fay, entries{"one": one, "two": two}
			},
			want: want{status: map[string]Status{"one": Counts, "two": Stopped}, findings: []string{CodeAfterStop}},
		},
		{
			law: "a stop without tips leaves nothing of a log",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				ned := w.join("ned", fay)
				fay.pull(ned)
				fay.admit(ned, RoleWorker)
				fay.control(KindStop, Stop{Writer: ned.writer(), Tips: []Tip{}, Why: WhyTheft})
				return fay, entries{"request": ned.book.Entries()[1]}
			},
			want: want{status: map[string]Status{"request": Stopped}, findings: []string{CodeAfterStop}},
		},
		{
			law: "a stop that misnames its tip has no effect",
			run: func(w *world) (*device, entries) {
				fay, _ := w.found("fay")
				ned := w.join("ned", fay)
				fay.pull(ned)
				fay.admit(ned, RoleWorker)
				fay.stop(ned, fay.book.Founding())
				return fay, entries{"after": ned.note("after")}
			},
			want: want{findings: []string{CodeNoEffect}, why: "not where it says"},
		},
	}
	for _, c := range cases {
		t.Run(c.law, func(t *testing.T) {
			d, named := c.run(newWorld(t))
			j := d.book.Judge()
			for name, status := range c.status {
				if got := j.Status(named[name]); got != status {
					t.Errorf("%q %s, want it %s", name, got, status)
				}
			}
			if diff := cmp.Diff(c.findings, codes(j.Findings())); diff != "" {
				t.Errorf("findings (-want +got):\n%s\n%v", diff, j.Findings())
			}
			if c.why != "" && !slices.ContainsFunc(j.Findings(), func(f Finding) bool { return strings.Contains(f.Message, c.why) }) {
				t.Errorf("no finding says %q: %v", c.why, j.Findings())
			}
			if err := d.book.Sound(); err != nil {
				t.Error(err)
			}
			logs := d.logs()
			slices.Reverse(logs)
			if diff := cmp.Diff(describe(load1(t, d.logs())), describe(load1(t, logs))); diff != "" {
				t.Errorf("other order of logs, other verdict:\n%s", diff)
			}
		})
	}
}
