package sentence

import (
	"strings"

	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// Places names positions as people say them: "openers 1-48 but 14", "wheel left-front"; "" for the machine as a whole. noun is the noun of the thing
// spoken of, "" where there is none.
func Places(m *rules.Machine, p record.Positions, noun string) string {
	if p.IsZero() {
		return ""
	}
	if m != nil && m.Fitted != nil {
		if noun == "" {
			noun = p.Ranges()[0].Noun
		}
		return m.Fitted.Describe(p, noun)
	}
	var out []string
	for _, s := range p.Strings() {
		out = append(out, strings.Replace(s, "/", " ", 1))
	}
	return strings.Join(out, ", ")
}

// Value is a setting or reading in the units of sys.
func Value(v record.Value, sys quantity.System) string {
	if q, ok := v.Quantity(); ok {
		return q.Show(sys)
	}
	return plain(v.Word())
}

// Title is a schedule's title fit for the middle of a sentence: its first letter made small unless the first word is written in capitals; the name with
// blanks for hyphens where there is no title.
func Title(title, name string) string {
	title = strings.TrimSpace(title)
	if title == "" {
		return plain(name)
	}
	word, _, _ := strings.Cut(title, " ")
	if len(word) > 1 && word == strings.ToUpper(word) {
		return title
	}
	for i, r := range title {
		if i > 0 {
			return strings.ToLower(title[:i]) + title[i:]
		}
		_ = r
	}
	return strings.ToLower(title)
}

// plain is a name of the book's or schedule's as a word of a sentence: "inner-scraper" is an inner scraper.
func plain(name string) string { return strings.ReplaceAll(name, "-", " ") }

// verbs are job names that are one verb, and how they are told afterwards. Other jobs are told by their name: "did torque check".
var verbs = map[string]string{
	"adjust": "adjusted", "align": "aligned", "bleed": "bled", "blow": "blew out", "calibrate": "calibrated", "charge": "charged", "check": "checked", "clean": "cleaned",
	"clear": "cleared", "drain": "drained", "fill": "filled", "flush": "flushed", "grease": "greased", "inspect": "inspected", "level": "levelled", "lubricate": "lubricated",
	"oil": "oiled", "preset": "preset", "refill": "refilled", "repack": "repacked", "rinse": "rinsed", "rotate": "rotated", "service": "serviced", "sharpen": "sharpened",
	"tension": "tensioned", "test": "tested", "tighten": "tightened", "torque": "torqued", "wash": "washed",
}

// did tells a job as done at some places: "greased openers 1-48 but 14, 31", "did torque check on wheel left-front", "washed drill".
func did(job, where, machine string) string {
	verb, ok := verbs[job]
	switch {
	case ok && where != "":
		return verb + " " + where
	case ok:
		return verb + " " + machine
	}
	return "did " + plain(job) + on(where)
}

// and joins words: "a", "a and b", "a, b and c".
func and(words []string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
}

func or(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

func of(s string) string {
	if s == "" {
		return ""
	}
	return " of " + s
}

func on(s string) string {
	if s == "" {
		return ""
	}
	return " on " + s
}

func from(date string) string {
	if date == "" {
		return ""
	}
	return " from " + date
}
