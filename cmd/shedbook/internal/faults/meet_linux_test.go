package faults

import (
	"bytes"
	"fmt"
	"os"
	"regexp"
	"strings"

	"shedbook/ledger/gitstore"
)

// meet has the command meet one fault, and says what is wrong afterwards and how many entries were lost.
func (p *plan) meet(hit fault) (wrong []string, lost int) {
	f := p.f
	bad := func(format string, a ...any) { wrong = append(wrong, fmt.Sprintf(format, a...)) }
	a, ok := p.hit(hit)
	if !ok {
		bad("the fault was not met")
		return wrong, 0
	}
	wrong = append(wrong, p.wrongWords(hit, a)...)
	done := a.code == 0

	if p.s.begins && !done {
		again := f.try(p.s.device, p.args...)
		if again.code != 0 && !strings.Contains(again.err, "is a book already") {
			bad("said again: exit %d\n%s%s\nbefore: exit %d\n%s%s", again.code, again.out, again.err, a.code, a.out, a.err)
		}
		if !gitstore.IsBook(p.book()) {
			bad("there is no book")
			return wrong, 0
		}
	}
	wrong = append(wrong, p.wrongAudit("afterwards")...)
	if p.s.holds != nil {
		if err := p.s.holds(f); err != nil {
			bad("right after it: %v", err)
		}
	}
	ids, err := held(p.book())
	if err != nil {
		bad("the book does not open: %v", err)
		return wrong, len(p.before)
	}
	for id := range p.before {
		if ids[id] != 1 {
			bad("entry %s, recorded before, is held %d times", id[:8], ids[id])
			lost++
		}
	}
	some := 0
	for id := range p.after {
		if p.before[id] > 0 {
			continue
		}
		some += ids[id]
		if done && ids[id] != 1 || ids[id] > 1 {
			bad("entry %s is held %d times after exit %d", id[:8], ids[id], a.code)
			if done {
				lost++
			}
		}
	}
	if n := len(p.after) - len(p.before); !p.s.begins && some != 0 && some != n {
		bad("%d of %d entries are held", some, n)
	}
	if !p.s.fetches && strings.Contains(a.err, "nothing was recorded") && some > 0 {
		bad("it said that nothing was recorded, and %d entries are there", some)
	}
	if !p.s.begins {
		for id := range ids {
			if p.before[id]+p.after[id] == 0 {
				bad("entry %s came from nowhere", id[:8])
			}
		}
	}
	wrong = append(wrong, p.wrongFile(a)...)

	wrong = append(wrong, p.goOn(a, len(ids), some)...)
	if p.s.after != nil {
		if err := p.s.after(f); err != nil {
			bad("%v", err)
		}
	}
	if left := p.litter(); len(left) > 0 {
		bad("left behind: %v", left)
	}
	return wrong, lost
}

// goOn says the next command after one that was done, and says one again that was not.
func (p *plan) goOn(a answer, count, some int) (wrong []string) {
	line, whose := fields(p.s.next), "the next command"
	again := a.code != 0 && !p.s.begins
	if again {
		line, whose = p.args, "said again"
	}
	next := p.f.try(p.s.device, line...)
	there := regexp.MustCompile(`the very same is recorded already|is in the book already|is there already`).MatchString(next.err) ||
		p.args[0] == "correct" && strings.Contains(next.err, "nothing would change")
	if next.code != 0 && !(again && there && (some > 0 || p.s.writes != "")) {
		wrong = append(wrong, fmt.Sprintf("%s, %s: exit %d\n%s%s\nbefore: exit %d\n%s%s", whose, line, next.code, next.out, next.err, a.code, a.out, a.err))
	}
	if again && p.s.again != nil && !p.s.again.MatchString(next.out) {
		wrong = append(wrong, fmt.Sprintf("said again it answers otherwise: exit %d\n%s%s", next.code, next.out, next.err))
	}
	ids, err := held(p.book())
	switch {
	case err != nil:
		wrong = append(wrong, fmt.Sprintf("%s: %v", whose, err))
	case len(ids) < count, !again && p.s.next != "sync" && len(ids) != count+1:
		wrong = append(wrong, fmt.Sprintf("%s: %d entries, and %d before it", whose, len(ids), count))
	}
	for id, n := range ids {
		if n != 1 {
			wrong = append(wrong, fmt.Sprintf("%s: entry %s is held %d times", whose, id[:8], n))
		}
	}
	return wrong
}

// hit runs the command with the fault; false if it could not be placed.
func (p *plan) hit(hit fault) (answer, bool) {
	f := p.f
	for range 3 {
		f.back()
		f.now = p.now
		a, tr := f.under(&hit, p.s.device, p.args...)
		if hit.with == "KILL" && a.code == -1 {
			return a, true
		}
		for _, c := range tr.calls {
			if c.failed && c.name == hit.name && c.kind == hit.kind {
				return a, true
			}
		}
	}
	return answer{}, false
}

// unplain finds what no person should be shown.
func unplain(text string) string {
	for _, bad := range []string{"panic", "goroutine ", "runtime error", "fatal error", "runtime:", ".go:", "SIG", "0x"} {
		if strings.Contains(text, bad) {
			return bad
		}
	}
	return ""
}

// wrongWords holds what a command says after an error to plain words: what happened, where, and what to do next.
func (p *plan) wrongWords(hit fault, a answer) (wrong []string) {
	if bad := unplain(a.out + a.err); bad != "" {
		wrong = append(wrong, fmt.Sprintf("it says %q\n%s%s", bad, a.out, a.err))
	}
	if a.code <= 0 || hit.kind == "what it says" {
		return wrong
	}
	last := a.err[strings.LastIndex("\n"+a.err, "\nshedbook: "):]
	if !strings.HasPrefix(last, "shedbook: ") {
		return append(wrong, fmt.Sprintf("exit %d and no word why\n%s", a.code, a.err))
	}
	if !strings.Contains(last, "\n  next: ") {
		wrong = append(wrong, fmt.Sprintf("exit %d and no next step\n%s", a.code, a.err))
	}
	place := p.f.live()
	if hit.kind == "what it prints" {
		place = "stdout"
	}
	if !strings.Contains(last, place) {
		wrong = append(wrong, fmt.Sprintf("exit %d and no place\n%s", a.code, a.err))
	}
	return wrong
}

// wrongFile wants a file that is written to be whole, or not there.
func (p *plan) wrongFile(a answer) []string {
	if p.s.writes == "" {
		return nil
	}
	data, err := os.ReadFile(p.f.live(p.s.writes))
	switch {
	case err != nil && a.code != 0:
		return nil
	case err != nil:
		return []string{err.Error()}
	case !bytes.Equal(data, p.file):
		return []string{fmt.Sprintf("%s is not whole: %d bytes of %d", p.s.writes, len(data), len(p.file))}
	}
	return nil
}
