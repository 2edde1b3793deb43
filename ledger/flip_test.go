package ledger

import (
	"bytes"
	"fmt"
	"runtime"
	"strings"
	"sync"
	"testing"
)

// flipBook is a small book: several devices, control, shared and work entries,
// private parts, citations, in logs as a store has them.
func flipBook(t *testing.T) (*Book, []Log) {
	w := newWorld(t)
	fay, _ := w.found("fay")
	ned := w.join("ned", fay)
	fay.pull(ned)
	fay.admit(ned, RoleWorker)
	ned.pull(fay)
	ned.sign(Draft{Class: Work, Kind: "note", Machine: &w.machine,
		Record: map[string]any{"text": "hub ½ turn out\nsays \"Ned\"", "position": 12}, Private: map[string]any{"cost": "3.50"}})
	fay.sign(Draft{Class: Shared, Kind: "farm", Record: map[string]any{"name": "creek", "ok": true}})
	fay.pull(ned)
	fay.stop(ned)
	return fay.book, fay.logs()
}

// Any single bit of any line, flipped: the line no longer verifies, the book is
// not sound, and what is reported names the log and the line. Where it is the
// founding entry, loading fails and the error names them.
func TestEveryBitFlip(t *testing.T) {
	book, logs := flipBook(t)
	if err := book.Sound(); err != nil {
		t.Fatal(err)
	}
	type job struct{ log, line, bit int }
	var jobs []job
	for i, l := range logs {
		for j, line := range l.Lines {
			for bit := range 8 * len(line) {
				jobs = append(jobs, job{i, j, bit})
			}
		}
	}
	t.Logf("%d lines, %d bits", len(book.Entries()), len(jobs))
	work := func(jobs []job) {
		for _, x := range jobs {
			damaged := make([]Log, len(logs))
			for i, l := range logs {
				damaged[i] = Log{Name: l.Name, Lines: append([][]byte(nil), l.Lines...)}
				// The lines that are not touched were checked before the flips.
				// Those under the flipped one are checked again; with
				// SHEDBOOK_TEST=full all of them are.
				switch {
				case full():
				case i != x.log:
					damaged[i].Checked = book.logID(l, len(l.Lines)-1)
				case x.line > 0:
					damaged[i].Checked = book.logID(l, x.line-1)
				}
			}
			line := bytes.Clone(logs[x.log].Lines[x.line])
			line[x.bit/8] ^= 1 << (x.bit % 8)
			damaged[x.log].Lines[x.line] = line
			if err := flipFound(damaged, logs[x.log].Name, x.line+1); err != nil {
				t.Errorf("log %d line %d bit %d: %v\n%q", x.log, x.line+1, x.bit, err, line)
				return
			}
		}
	}
	var wait sync.WaitGroup
	n := runtime.GOMAXPROCS(0)
	for i := range n {
		wait.Go(func() { work(jobs[i*len(jobs)/n : (i+1)*len(jobs)/n]) })
	}
	wait.Wait()
}

// logID returns the id of line i of a log of this book.
func (b *Book) logID(l Log, i int) ID {
	for _, n := range b.order {
		if bytes.Equal(n.e.line, l.Lines[i]) {
			return n.e.id
		}
	}
	return ID{}
}

// flipFound returns nil if loading the logs reports that line of that log.
func flipFound(logs []Log, name string, line int) error {
	b, err := Load(logs)
	if err != nil {
		if strings.Contains(err.Error(), fmt.Sprintf("log %s line %d: ", name, line)) {
			return nil
		}
		return fmt.Errorf("the error does not name the line: %w", err)
	}
	if b.Sound() == nil {
		return fmt.Errorf("the book passes as sound")
	}
	for _, f := range b.Findings() {
		if f.Severity == Error && f.Log == name && f.Line == line && f.Message != "" {
			return nil
		}
	}
	return fmt.Errorf("no finding names the line: %v", b.Findings())
}

// Lines lost, doubled, swapped, moved to another log or replaced by an older
// book's are found as well.
func TestLinesMoved(t *testing.T) {
	_, logs := flipBook(t)
	strange := newWorld(t)
	strange.device("skip") // other keys
	stranger, _ := strange.found("fay")
	fay, ned := 0, 1
	if len(logs[0].Lines) < len(logs[1].Lines) {
		fay, ned = 1, 0
	}
	for _, c := range []struct {
		name   string
		change func(logs []Log)
		code   string
	}{
		{"doubled", func(l []Log) { l[fay].Lines = append(l[fay].Lines, l[fay].Lines[1]) }, CodeRepeatedLine},
		{"swapped", func(l []Log) {
			x := l[fay].Lines
			x[1], x[2] = x[2], x[1]
		}, CodeOutOfOrder},
		{"cut out", func(l []Log) { l[fay].Lines = append(l[fay].Lines[:1:1], l[fay].Lines[2:]...) }, CodeOutOfOrder},
		{"moved to another log", func(l []Log) { l[ned].Lines = append(l[ned].Lines, l[fay].Lines[3]) }, CodeStrayLine},
		{"tail cut, but cited", func(l []Log) { l[ned].Lines = l[ned].Lines[:1] }, CodeMissingEntry},
		{"log emptied", func(l []Log) { l[ned].Lines = nil }, CodeEmptyLog},
		{"entry of another book", func(l []Log) { l[ned].Lines = append(l[ned].Lines, stranger.book.Founding().Line()) }, CodeOtherBook},
	} {
		t.Run(c.name, func(t *testing.T) {
			var changed []Log
			for _, l := range logs {
				changed = append(changed, Log{Name: l.Name, Lines: append([][]byte(nil), l.Lines...)})
			}
			c.change(changed)
			founding := load1(t, logs).ID()
			b, err := LoadPinned(founding, changed)
			if err != nil {
				t.Fatal(err)
			}
			for _, f := range b.Findings() {
				if f.Code == c.code {
					return
				}
			}
			t.Errorf("findings %v, want one %s", b.Findings(), c.code)
		})
	}
}
