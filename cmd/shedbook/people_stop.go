package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
)

// stopping is what an owner says about a log that is to end.
type stopping struct {
	why  string
	last []string // entries after which nothing counts
}

var reasons = []string{ledger.WhyLost, ledger.WhyTheft, ledger.WhyLeft, ledger.WhyCopied}

func peopleStopCommand() *command {
	var s stopping
	var recovery bool
	return &command{
		name: "people stop", section: "the book", brief: "end what a device may write", writes: true,
		usage: []string{"people stop DEVICE|NAME --why lost|theft|left|copied [--last ENTRY]", "people stop ... --recovery"},
		examples: []string{
			`people stop "shop phone" --why lost`, `people stop "creek laptop" --why theft --last 15ebae70`, `people stop "Sam Rook" --why left`,
			`people stop "home laptop" --why copied`,
		},
		about: `Entries up to the last ones that are named still count; nothing after them does, whatever date it bears. Left out, these are the last entries held here. ` +
			`After a theft, name the last entry that its owner knows to be theirs: history --last shows entries with their ids.

copied: the same key wrote in two places, as after a copied folder or a restored backup. Nearly always innocent: what both wrote counts, and each device goes on with a new key.

A stopped key never returns; its person starts a new one. Nobody can stop a device that ranks above their own: the founder's yields only to the recovery key (--recovery, which asks for ` +
			`its 24 words).`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&s.why, "why", "", "`reason`: lost, theft, left or copied")
			fs.StringArrayVar(&s.last, "last", nil, "last `entry` that counts, by its id (left out: all held here; none: nothing counts)")
			fs.BoolVar(&recovery, "recovery", false, "sign with the recovery key from its paper")
		},
		run: func(c *call) error {
			text := strings.Join(c.args, " ")
			if strings.TrimSpace(text) == "" {
				return usage("shedbook people list shows them", "people stop takes a device or a person")
			}
			if s.why == "" {
				return usage("add --why lost, theft, left or copied", "why is %s stopped?", text)
			}
			if !slices.Contains(reasons, s.why) {
				return usage("write --why lost, theft, left or copied", "--why %q is none of them%s", s.why, didYouMean(s.why, reasons))
			}
			return c.writeAs(recovery, func(w *writing) error { return w.stop(text, s) })
		},
	}
}

// stop ends a device's log, or those of all devices of somebody who left.
func (w *writing) stop(text string, s stopping) error {
	if err := w.leads("stops devices"); err != nil {
		return err
	}
	devices, err := w.stopped(text, s)
	if err != nil {
		return err
	}
	for _, d := range devices {
		if err := w.mayStop(d); err != nil {
			return err
		}
	}
	var answers []controlled
	var questions []string
	var stops []ledger.Stop
	for _, d := range devices {
		tips, err := w.tipsOf(d, s)
		if err != nil {
			return err
		}
		stop := ledger.Stop{Writer: d.Writer, Tips: tips, Why: s.why}
		e, err := w.act(ledger.Draft{Kind: ledger.KindStop, Record: stop})
		if err != nil {
			return err
		}
		stops = append(stops, stop)
		answers = append(answers, controlled{e: e, words: fmt.Sprintf("stopped %s (%s)", deviceName(d), s.why)})
	}
	for i, d := range devices { // once all are signed: what counts may depend on more than one
		remains := w.remains(d, stops[i])
		answers[i].notes = []string{remains}
		questions = append(questions, table.Wrap(fmt.Sprintf("stop %s (%s): %s", deviceName(d), s.why, remains), w.c.columns(), "    "))
	}
	answers[len(answers)-1].notes = append(answers[len(answers)-1].notes, w.stopNotes(s)...)
	if err := w.c.sure(strings.Join(questions, "\n"), "not-sure"); err != nil {
		return err
	}
	w.then(func() error { return w.c.controlled(answers...) })
	return nil
}

// stopped finds what is meant: one device, or all those of somebody who left.
func (w *writing) stopped(text string, s stopping) ([]ledger.Device, error) {
	active := func(d ledger.Device) bool { return !d.Stopped && d.Role != ledger.RoleRecovery }
	found := w.devicesNamed(text, active)
	switch {
	case len(found) == 0:
		again := w.devicesNamed(text, func(d ledger.Device) bool { return d.Stopped })
		if len(again) == 1 && len(s.last) > 0 {
			return again, nil // a second stop can only take more away
		}
		if len(again) > 0 {
			return nil, failed("stopped", "a second stop can only take more away: add --last ENTRY", "%s is stopped already", deviceName(again[0]))
		}
		return nil, failed("unknown-device", "shedbook people list", "no device and no person here is called %q%s", text, didYouMean(text, w.deviceWords(active)))
	case len(found) == 1:
		return found, nil
	}
	if s.why == ledger.WhyLeft && len(s.last) == 0 && !slices.ContainsFunc(found, func(d ledger.Device) bool { return d.Person != found[0].Person || d.Pending }) {
		return found, nil
	}
	return nil, failed("ambiguous", "name one by the eight letters in brackets", "%d devices are called %q: %s", len(found), text, deviceList(found))
}

// mayStop refuses what would have no effect: oneself, or a device that ranks above.
func (w *writing) mayStop(d ledger.Device) error {
	own, _ := w.judged.Device(w.writer)
	switch {
	case d.Writer == w.writer:
		return failed("no-effect", "another owner's device can; or add --recovery and sign with the recovery key", "a device cannot stop itself")
	case own.Role == ledger.RoleRecovery:
		return nil
	case d.Founder:
		return failed("no-effect", "add --recovery and sign with the recovery key", "%s started the book: only the recovery key can stop it", deviceName(d))
	case d.Role == ledger.RoleOwner && !own.Founder && w.ranksAbove(d, own):
		return failed("no-effect", "an owner admitted before it can, or add --recovery and sign with the recovery key", "%s ranks above this device, as it was admitted before", deviceName(d))
	}
	return nil
}

// ranksAbove: the earlier admitted owner, in the order that is the same everywhere.
func (w *writing) ranksAbove(a, b ledger.Device) bool {
	x, y := w.log.Entry(a.Admit), w.log.Entry(b.Admit)
	return x != nil && y != nil && x.Compare(y) < 0
}

// tipsOf are the last entries that still count.
func (w *writing) tipsOf(d ledger.Device, s stopping) ([]ledger.Tip, error) {
	var tips []ledger.Tip
	switch {
	case len(s.last) == 1 && strings.EqualFold(s.last[0], "none"):
		return []ledger.Tip{}, nil
	case len(s.last) == 0:
		if s.why == ledger.WhyTheft && len(d.Tips) > 1 {
			return nil, failed("which-last", "name the entry that is its owner's with --last", "the log of %s goes on in %d ways, and one of them may be the thief's: %s",
				deviceName(d), len(d.Tips), w.tipList(d.Tips))
		}
		for _, t := range d.Tips {
			tips = append(tips, ledger.Tip{ID: t.ID, Seq: t.Seq})
		}
		if len(tips) == 0 {
			tips = []ledger.Tip{}
		}
	}
	for _, text := range s.last {
		e, err := w.lastEntry(d, text)
		if err != nil {
			return nil, err
		}
		if t := (ledger.Tip{ID: e.ID(), Seq: e.Seq()}); !slices.Contains(tips, t) {
			tips = append(tips, t)
		}
	}
	slices.SortFunc(tips, ledger.Tip.Compare)
	return tips, nil
}

// lastEntry finds one entry of the device's log by the beginning of its id.
func (w *writing) lastEntry(d ledger.Device, text string) (*ledger.Entry, error) {
	text = strings.ToLower(strings.TrimSpace(text))
	if len(text) < 4 || strings.Trim(text, "0123456789abcdef") != "" {
		return nil, usage("shedbook history --last 20 shows ids", "--last %q is no entry's id: write the first eight digits, or none", text)
	}
	var of []*ledger.Entry
	var other *ledger.Entry
	for _, e := range w.log.Find(text) {
		if e.Writer() == d.Writer {
			of = append(of, e)
		} else {
			other = e
		}
	}
	switch {
	case len(of) == 1:
		return of[0], nil
	case len(of) > 1:
		return nil, failed("ambiguous", "write more of it", "%d entries of %s begin with %s", len(of), deviceName(d), text)
	case other != nil:
		by, _ := w.judged.Device(other.Writer())
		return nil, failed("other-log", "shedbook history shows who wrote which", "entry %s was written by %s, not by %s", text, deviceName(by), deviceName(d))
	}
	return nil, failed("unknown-entry", "shedbook history --last 20 shows ids", "%s has written no entry %s that is held here", deviceName(d), text)
}

func (w *writing) tipList(tips []ledger.Ref) string {
	var out []string
	for _, t := range tips {
		when := ""
		if e := w.log.Entry(t.ID); e != nil {
			when = " of " + e.At().Format("2006-01-02 15:04") + " UTC"
		}
		out = append(out, fmt.Sprintf("entry %d, %s%s", t.Seq, t.ID.Short(), when))
	}
	return strings.Join(out, "; ")
}

// fate counts what a stop leaves of a log: entries that count, and entries that are held and do not.
func (w *writing) fate(d ledger.Device) (count, not int) {
	for _, e := range w.log.Entries() {
		if e.Writer() == d.Writer {
			switch w.judged.Status(e) {
			case ledger.Counts:
				count++
			case ledger.Stopped:
				not++
			}
		}
	}
	return count, not
}

// remains says plainly what still counts.
func (w *writing) remains(d ledger.Device, stop ledger.Stop) string {
	count, not := w.fate(d)
	refs := make([]ledger.Ref, len(stop.Tips))
	for i, t := range stop.Tips {
		refs[i] = ledger.Ref{ID: t.ID, Seq: t.Seq, Writer: d.Writer}
	}
	s := "nothing it wrote counts"
	if len(refs) > 0 && !d.Pending {
		s = fmt.Sprintf("%s, up to %s", does(entryCount(count), count, "counts", "count"), strings.ReplaceAll(w.tipList(refs), "; ", " and "))
	}
	if not > 0 && len(refs) > 0 {
		s += "; " + does(fmt.Sprintf("%d held here from after that", not), not, "does not", "do not")
	}
	return s + "; whatever it writes from now on does not, whatever date it bears"
}

// stopNotes say what is to be done next.
func (w *writing) stopNotes(s stopping) []string {
	var notes []string
	if len(w.owners()) == 0 {
		notes = append(notes, "no owner's device is left: the recovery key admits a new one, shedbook people recover")
	}
	switch s.why {
	case ledger.WhyCopied:
		notes = append(notes, "each place that used this key goes on with a new one: shedbook people key --new there")
	case ledger.WhyTheft, ledger.WhyLost:
		notes = append(notes, "it takes effect wherever this entry has come: shedbook sync now")
	}
	return notes
}

// sure asks about something that cannot be taken back; on no terminal the words of the command are enough, as they name the device and the reason.
func (c *call) sure(question, tag string) error {
	if c.yes || !c.asks || c.dryRun {
		return nil
	}
	answer, err := c.ask(question + "\nThis cannot be taken back. Do it? [y/N]")
	if err == nil && yes(answer) {
		return nil
	}
	return failed(tag, "", "nothing was recorded")
}
