package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// parseSystem reads a stored choice of units; "" is none.
func parseSystem(s string) (quantity.System, error) { return quantity.ParseSystem(s) }

// parseDay takes what people say for a day: 2026-04-01, today, yesterday, tomorrow, 14d ago, 3 days ago, or a weekday (the last one gone by).
func (e *env) parseDay(s string) (string, error) {
	now := e.now()
	word := strings.ToLower(strings.TrimSpace(s))
	back := func(days int) (string, error) { return now.AddDate(0, 0, -days).Format("2006-01-02"), nil }
	switch word {
	case "today", "now":
		return back(0)
	case "yesterday":
		return back(1)
	case "tomorrow":
		return back(-1)
	}
	for i := range 7 {
		d := time.Weekday((int(now.Weekday()) + 7 - i) % 7)
		name := strings.ToLower(d.String())
		if said, last := strings.CutPrefix(word, "last "); said == name || said == name[:3] {
			if last && i == 0 {
				i = 7
			}
			return back(i)
		}
	}
	for _, ago := range []string{"d ago", " days ago", " day ago"} {
		if number, ok := strings.CutSuffix(word, ago); ok {
			if n, err := strconv.Atoi(number); err == nil && n >= 0 && n < 36500 {
				return back(n)
			}
		}
	}
	d, err := record.ParseDone(word)
	if err != nil || len(d) != len("2006-01-02") {
		if meant := daysMeant(word); len(meant) > 0 {
			return "", &otherDay{s, meant}
		}
		return "", fmt.Errorf("%q is no day: write 2026-04-01, today, yesterday or a weekday", s)
	}
	return string(d), nil
}

// otherDay is a date in another country's way, with the days that it may mean. Nobody is to guess.
type otherDay struct {
	typed string
	meant []string
}

func (d *otherDay) Error() string {
	return fmt.Sprintf("%q is no day as it is written here: is %s meant?", d.typed, strings.Join(d.meant, " or "))
}

func daysMeant(s string) []string {
	var out []string
	for _, form := range []string{"2/1/2006", "1/2/2006", "2.1.2006"} {
		if d, err := time.Parse(form, s); err == nil && !slices.Contains(out, d.Format("2006-01-02")) {
			out = append(out, d.Format("2006-01-02"))
		}
	}
	return out
}

// parseDone takes a day, or a day with a time of day ("2026-04-01 16:05", "today 7:30", "16:05").
func (e *env) parseDone(s string) (record.Done, error) {
	text := strings.Replace(strings.TrimSpace(s), "T", " ", 1)
	day, clock, timed := text, "", false
	if i := strings.LastIndexByte(text, ' '); i >= 0 && strings.Contains(text[i:], ":") {
		day, clock, timed = text[:i], text[i+1:], true
	} else if strings.Contains(text, ":") {
		day, clock, timed = "today", text, true
	}
	d, err := e.parseDay(day)
	if err != nil {
		return "", err
	}
	if !timed {
		return record.Done(d), nil
	}
	t, err := time.Parse("15:04", clock)
	if err != nil {
		return "", fmt.Errorf("%q is no time of day: write 16:05", clock)
	}
	return record.Done(d + "T" + t.Format("15:04")), nil
}

// plainDates turns --on and --known into days.
func (c *call) plainDates() error {
	for _, f := range []struct {
		name string
		at   *string
	}{{"--on", &c.on}, {"--known", &c.known}} {
		if *f.at == "" {
			continue
		}
		d, err := c.parseDay(*f.at)
		if err != nil {
			return usage("", "%s: %v", f.name, err)
		}
		*f.at = d
	}
	return nil
}

// weekday shows a done date as people read it: "Wed 2026-04-01" or "Wed 2026-04-01 16:05".
func weekday(d record.Done) string {
	s := d.Day().Format("Mon ") + d.Date()
	if len(d) > len("2006-01-02") {
		s += " " + d.Clock()
	}
	return s
}
