package main

import (
	"fmt"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

func bindWarranty(s *said, fs *pflag.FlagSet) {
	s.str(fs, &s.warranty, "warranty", "what went in, or the work, is warranted for this `long`, 12mo, or until this day")
}

// warrantyUntil is the last day of a warranty that begins with the work: "12mo" after it, or a day; "none" takes it back.
func warrantyUntil(text string, done record.Done) (string, error) {
	text = strings.TrimSpace(text)
	if strings.EqualFold(text, "none") {
		return "", nil
	}
	bad := func() (string, error) {
		return "", usage("write --warranty 12mo, or --warranty 2027-05-01", "--warranty %q is no length of time after the work and no day after it", text)
	}
	if d, err := record.ParseDone(text); err == nil {
		if d.Date() != text || text < done.Date() {
			return bad()
		}
		return text, nil
	}
	q, err := quantity.Parse(text)
	if err != nil || q.Sign() <= 0 || !q.Rat().IsInt() || q.Rat().Num().BitLen() > 12 {
		return bad()
	}
	n, day := int(q.Rat().Num().Int64()), done.Day()
	switch q.Unit().String() {
	case "d":
		return day.AddDate(0, 0, n).Format("2006-01-02"), nil
	case "wk":
		return day.AddDate(0, 0, 7*n).Format("2006-01-02"), nil
	case "mo":
		return monthsLater(day, n), nil
	case "yr":
		return monthsLater(day, 12*n), nil
	}
	return bad()
}

// monthsLater is the same day of a later month, or its last where it has no such day.
func monthsLater(day time.Time, n int) string {
	first := time.Date(day.Year(), day.Month()+time.Month(n), 1, 0, 0, 0, 0, time.UTC)
	last := first.AddDate(0, 1, -1).Day()
	return first.AddDate(0, 0, min(day.Day(), last)-1).Format("2006-01-02")
}

// warranted says what is still under warranty where something failed: before the old part is thrown away.
func (l *line) warranted(r record.Record) {
	if l.old != nil {
		return
	}
	part, at := "", record.Positions{}
	switch r := r.(type) {
	case *record.Fault:
		part, at = r.Part, r.Positions
	case *record.Repair:
		part, at = r.Part, r.Positions
	case *record.Swap:
		if r.Act != record.SwapNew && r.Act != record.SwapIn && r.Act != record.SwapOut {
			return
		}
		part, at = r.Part, r.Positions
	default:
		return
	}
	for i, w := range l.m.UnderWarranty(l.done.Date(), part, at) {
		if i == 4 {
			l.note("more is under warranty there: shedbook show %s", l.m.Name)
			return
		}
		l.note("still under warranty until %s: %s", w.Until, warrantyWords(l.m, w))
	}
}

// warrantyWords is "disc of opener 3, put in 2026-03-02 [ab12cd34]", "oil-change of 2026-03-02 [...]".
func warrantyWords(m *rules.Machine, w rules.Warranty) string {
	what := strings.TrimSpace(w.Part + " " + w.Job)
	if what == "" {
		what = "repair"
	}
	if !w.Positions.IsZero() && m.Fitted != nil {
		what += " of " + m.Fitted.Describe(w.Positions, "")
	}
	return fmt.Sprintf("%s, %s [%s]", what, w.Done.Date(), w.Entry.Short())
}
