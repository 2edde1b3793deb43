package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"shedbook/ledger"
	"shedbook/ledger/audit"
	"shedbook/ledger/gitstore"
)

// mendHint is the next step wherever a folder is damaged.
const mendHint = "shedbook audit says all that is wrong; shedbook audit --mend puts right what can be, and keeps what it sets aside"

// readStore opens a book's folder and reads its logs. A damaged one is read as it lies, as far as its entries are held anywhere in it; what is wrong with it comes
// with them.
//
// mapped is for a process that ends soon (see [gitstore.Store.OpenImage]).
func (c *call) readStore(dir string, mapped bool) (*gitstore.Store, *reading, []gitstore.Damage, error) {
	store, err := gitstore.Open(dir)
	if err == nil {
		for _, line := range store.Recovered() {
			c.say("%s\n", line)
		}
		if r := c.fromImage(store, mapped); r != nil {
			return store, r, nil, nil
		}
		var logs []ledger.Log
		if logs, err = store.Logs(); err == nil {
			return store, &reading{logs: logs, whole: c.today()}, store.Outstanding(logs), nil
		}
	}
	first := openError(dir, err)
	if !gitstore.IsDamage(err) {
		return nil, nil, nil, first
	}
	if store, err = gitstore.OpenDamaged(dir); err != nil {
		return nil, nil, nil, openError(dir, err)
	}
	logs, damages, err := store.Held()
	if err != nil {
		return nil, nil, nil, openError(dir, err)
	}
	if !slices.ContainsFunc(damages, func(d gitstore.Damage) bool { return d.Severity == ledger.Error }) {
		return nil, nil, nil, first
	}
	return store, &reading{logs: logs}, damages, nil
}

// errors are what keeps the book from verifying: first of the folder, then of its entries, one line each.
func (b *book) errors() []string {
	var out []string
	for _, d := range b.damages {
		if d.Severity == ledger.Error && !b.givenUp(d) {
			out = append(out, b.damageLine(d))
		}
	}
	if b.log != nil {
		for _, f := range b.log.Findings() {
			if f.Severity == ledger.Error && !b.lost(f) {
				out = append(out, withNext(f).String())
			}
		}
	}
	return out
}

// withNext adds the next step to a finding about a line that a mending takes out.
func withNext(f ledger.Finding) ledger.Finding {
	if f.Severity == ledger.Error && f.Line > 0 && gitstore.Mends(f.Code) {
		f.Message += "; next: shedbook audit --mend"
	}
	return f
}

// lost reports whether a finding is only that entries which the folder has lost are cited.
func (b *book) lost(f ledger.Finding) bool {
	return f.Code == ledger.CodeMissingEntry && slices.ContainsFunc(b.damages, func(d gitstore.Damage) bool {
		return d.Code == gitstore.CodeLost && strings.HasPrefix(d.Log, f.Writer.String()) && d.First <= f.Seq && f.Seq <= d.Last
	})
}

// givenUp reports whether an owner's stop that has effect ends the log before the entries that are lost: they can then change nothing any more
// (ledger/FORMAT.md, "Waiting").
func (b *book) givenUp(d gitstore.Damage) bool {
	if d.Code != gitstore.CodeLost || d.Mend || b.judged == nil {
		return false
	}
	w, err := ledger.ParseWriter(d.Log[:min(len(d.Log), 32)])
	if err != nil {
		return false
	}
	if dev, ok := b.judged.Device(w); !ok || !dev.Stopped {
		return false
	}
	for _, e := range b.log.Entries() {
		if e.Kind() != ledger.KindStop || b.judged.Status(e) != ledger.Counts {
			continue
		}
		record, err := ledger.DecodeControl(e)
		stop, ok := record.(*ledger.Stop)
		if err != nil || !ok || stop.Writer != w {
			continue
		}
		for _, tip := range stop.Tips {
			if b.log.Entry(tip.ID) == nil {
				return false
			}
		}
	}
	return true
}

// damageLine says in one line whose log is meant, what is wrong, and what to do next.
func (b *book) damageLine(d gitstore.Damage) string {
	line := b.damageText(d)
	if d.Log != "" {
		line = b.logName(d.Log) + ": " + line
	}
	return line
}

// logName names the device whose log it is.
func (b *book) logName(log string) string {
	w, err := ledger.ParseWriter(log[:min(len(log), 32)])
	if err != nil {
		return "the log " + log
	}
	switch {
	case b.judged != nil:
	case w.String() == b.local.Writer:
		return "this device"
	default:
		return "the device " + w.String()[:8]
	}
	return deviceName(b.device(w))
}

// damageText is what is wrong and what to do next.
func (b *book) damageText(d gitstore.Damage) string {
	var next []string
	if d.Mend {
		next = append(next, "shedbook audit --mend")
	}
	if d.Code == gitstore.CodeLost {
		switch {
		case len(d.Holders) > 0:
			h := d.Holders[0]
			had := ""
			switch {
			case h.Seq < d.Last:
				had = fmt.Sprintf(", which had up to entry %d", h.Seq)
			case d.First == d.Last:
				had = ", which had it"
			default:
				had = ", which had them"
			}
			if had != "" && !h.Last.IsZero() {
				had += " on " + h.Last.UTC().Format("2006-01-02")
			}
			next = append(next, "shedbook sync "+b.placeName(h.Address)+had)
		default:
			next = append(next, "shedbook sync with whoever may have them: no place that this device knows had")
		}
	}
	if len(next) == 0 {
		return d.Message
	}
	return d.Message + "; next: " + strings.Join(next, ", then ")
}

// placeName is what a place is called here, else its address.
func (b *book) placeName(address string) string {
	for _, p := range b.local.Places {
		if p.Address == address && p.Name != "" {
			return p.Name
		}
	}
	return address
}

// damageFindings are what is wrong with the folder, as an audit lists it.
func (b *book) damageFindings() []audit.Finding {
	var out []audit.Finding
	for _, d := range b.damages {
		f := audit.Finding{Severity: d.Severity, Code: d.Code, Log: d.Log, Message: b.damageText(d)}
		if w, err := ledger.ParseWriter(d.Log[:min(len(d.Log), 32)]); err == nil {
			f.Writer = w
		}
		if b.givenUp(d) {
			f.Severity, f.Message = ledger.Note, d.Message+"; an owner's stop has given them up"
		}
		out = append(out, f)
	}
	return out
}

// notStored is the error of a write that failed.
func notStored(dir string, err error) error {
	if gitstore.IsDamage(err) {
		return &userError{code: exitUnsound, tag: "damaged", text: "nothing was recorded: the book in " + dir + " is damaged", hint: mendHint, err: err}
	}
	if errors.Is(err, gitstore.ErrMayStand) {
		return &userError{code: exitFailed, tag: "not-stored", text: err.Error(), hint: "mend the folder, then look whether it is there before you say it again: shedbook history --last 3", err: err}
	}
	return &userError{code: exitFailed, tag: "not-stored", text: fmt.Sprintf("nothing was recorded: %v", err), hint: "make room or mend the folder, then say it again", err: err}
}

// noBookHint says what to do with a folder that is no book: one that a plain copy of a book's git/ lies in can be joined.
func noBookHint(dir string) string {
	for _, d := range []string{dir, filepath.Join(dir, "git")} {
		if exists(filepath.Join(d, "HEAD")) && exists(filepath.Join(d, "objects")) {
			return fmt.Sprintf("shedbook join %s NEWFOLDER makes a book of what is in it", d)
		}
	}
	return "start one with shedbook new DIR"
}
