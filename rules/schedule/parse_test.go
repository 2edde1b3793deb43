package schedule

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// prelude is a small kind that holds by itself; cases add to it or replace lines of it.
const prelude = `shedbook_schedule = 1
name = "test-kind"
work = ["seeding"]
[counter.area]
unit = "ac"
main = true
[counter.hours]
unit = "h"
[option.rows]
type = "count"
min = 2
max = 20
default = 8
[option.style]
type = "choice"
choices = ["plain", "fancy"]
default = "plain"
[place.row]
count = "=rows"
hands = ["left", "right"]
[place.wheel]
names = ["front", "rear"]
[part.blade]
of = "row"
[setting.depth]
of = "row"
type = "steps"
min = 1
max = 10
[reading.wear]
of = "row"
unit = "in"
limit = { min = "3 in" }
[job.torque]
of = "row"
results = ["moved", "none-moved"]
torques = [{ what = "nut", value = "100 N.m" }]
`

// marked takes the marks out of a text: each § stands just before the place of one mistake, in the order of the messages.
func marked(text string) (clean string, places []string) {
	line, column := 1, 1
	var b strings.Builder
	for _, c := range text {
		switch c {
		case '§':
			places = append(places, fmt.Sprintf("t.toml:%d:%d: ", line, column))
			continue
		case '\n':
			line, column = line+1, 0
		}
		column++
		b.WriteRune(c)
	}
	return b.String(), places
}

// mistake is a text and what is wrong with it, at its marks.
type mistake struct {
	name, text string
	want       []string
}

// testMistakes parses each text and compares every message, places and all.
func testMistakes(t *testing.T, cases []mistake) {
	t.Helper()
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			text, places := marked(c.text)
			if len(places) != len(c.want) {
				t.Fatalf("the case marks %d places for %d messages", len(places), len(c.want))
			}
			var want []string
			for i, w := range c.want {
				want = append(want, places[i]+w)
			}
			_, err := Parse("t.toml", []byte(text))
			if err == nil {
				t.Fatal("no mistake was found")
			}
			if diff := cmp.Diff(want, strings.Split(err.Error(), "\n")); diff != "" {
				t.Errorf("mistakes (-want +got):\n%s", diff)
			}
		})
	}
}

func TestParseMistakes(t *testing.T) {
	testMistakes(t, []mistake{
		// the text as a whole
		{"not TOML", "shedbook_schedule = 1\nname §\"x\"\n", []string{`this is not TOML: expected '=' after key`}},
		{"column in characters", "shedbook_schedule = 1\nname = \"x\"\n\"äö\" §\"x\"\n", []string{`this is not TOML: expected '=' after key`}},
		{"doubled key", "shedbook_schedule = 1\nname = \"x\"\n§name = \"y\"\n", []string{`this is not TOML: key name is already defined`}},
		{"doubled table", prelude + "[job.a]\n[§job.a]\n", []string{`this is not TOML: table a already exists`}},
		{"no version", "§name = \"x\"\n", []string{`the version line is missing: begin the text with shedbook_schedule = 1`}},
		{"newer version", "shedbook_schedule = §2\nname = \"x\"\nwhatever = 1\n",
			[]string{`the text is written in version 2 of the grammar and needs a newer shedbook: this one reads version 1`}},
		{"no such version", "shedbook_schedule = §\"1\"\nname = \"x\"\n", []string{`shedbook_schedule is "1", which is no version: write shedbook_schedule = 1`}},
		{"no name", "§shedbook_schedule = 1\n", []string{`the schedule has no name: write name = "disc-drill" or the like near the top`}},
		{"bad name", "shedbook_schedule = 1\nname = §\"Disc Drill\"\n",
			[]string{`name of the schedule is "Disc Drill", which is no word: write "disc-drill": small letters, digits and single dashes, a letter first, at most 40`}},
		{"date", "shedbook_schedule = 1\nname = \"x\"\ntitle = §2026-01-01\n", []string{`title of the schedule is a date or time: write a text in quotes`}},
		{"unknown at the top", "§jobs = 1\n" + prelude, []string{`unknown key "jobs" at the top: did you mean "job"?`}},
		{"control character", strings.Replace(prelude, "work =", "about = §\"a\\u001bb\"\nwork =", 1),
			[]string{`about of the schedule holds the control character U+001B: take it out`}},
		{"a list for tables by name", prelude + "[[§spec]]\nvalue = \"x\"\n", []string{`spec is a list: write [spec.NAME] for each`}},
		{"a text for a table", prelude + "[spec]\noil = §\"x\"\n", []string{`spec "oil" is a text: write a table, [...] or { ... }`}},
		{"a name that is no word", prelude + "[spec.§Oil]\nvalue = \"x\"\n",
			[]string{`spec "Oil" has a name that is no word: write "oil": small letters, digits and single dashes, a letter first, at most 40`}},

		// names
		{"two things of one name", prelude + "[job.§depth]\n", []string{`job "depth" has the name of the setting of line 25: these words share one list: rename one`}},
		{"a plural taken", prelude + "[job.§wheels]\n", []string{`job "wheels" has the name of the plural of noun of line 21: these words share one list: rename one`}},
		{"reserved", prelude + "[job.§all]\n", []string{`"all" cannot be the name of a job: the word is reserved: choose another name`}},

		// counters and options
		{"unknown unit", prelude + "[counter.km]\nunit = §\"kilometrs\"\n", []string{`unit of counter "km": unknown unit "kilometrs": did you mean "kilometre"?`}},
		{"calendar counter", prelude + "[counter.age]\nunit = §\"yr\"\n", []string{`counter "age" counts calendar time: days and years are counted anyway`}},
		{"two main counters", prelude + "[counter.pto]\nunit = \"h\"\nmain = §true\n", []string{`counter "pto" is a second main counter: keep one`}},
		{"main trip counter", strings.Replace(prelude, "main = true", "main = §true\ntrip = true", 1),
			[]string{`counter "area" is a trip counter and cannot be the main one: make a lifetime counter the main one`}},
		{"no main counter", strings.Replace(strings.Replace(prelude, "main = true\n", "", 1), "[counter.area]", "[counter.§area]", 1),
			[]string{`counter "area" has no main = true, nor has another counter: say which counter is meant when a person names none`}},
		{"derive from nothing", prelude + "[counter.pto]\nunit = \"h\"\nderive = §{}\n",
			[]string{`derive of counter "pto" has no from or carrier: write from = "area" with width, speed and efficiency, or carrier = "hours"`}},
		{"derive without width", prelude + "[counter.pto]\nunit = \"h\"\nderive = §{ from = \"area\", speed = \"5 mi/h\", efficiency = \"80 %\" }\n",
			[]string{`derive of counter "pto" has no width: hours are area over width x speed x efficiency`}},
		{"derive from hours", prelude + "[counter.pto]\nunit = \"h\"\nderive = { from = §\"hours\", width = \"3 m\", speed = \"8 km/h\", efficiency = \"80 %\" }\n",
			[]string{`counter "hours" counts in h: name a counter of acres or hectares`}},
		{"derive a wrong dimension", prelude + "[counter.pto]\nunit = \"h\"\nderive = { from = \"area\", width = §\"3 kg\", speed = \"8 km/h\", efficiency = \"80 %\" }\n",
			[]string{`width of derive of counter "pto" is 3 kg, a mass: write "30 ft"`}},
		{"option without type", prelude + "[option.§x]\ndefault = 1\n", []string{`option "x" has no type: write type = "count", "choice", "yes-no" or "amount"`}},
		{"option of another type", prelude + "[option.x]\ntype = §\"number\"\n", []string{`type of option "x" is "number": write "count", "choice", "yes-no" or "amount"`}},
		{"default out of range", prelude + "[option.x]\ntype = \"count\"\nmin = 1\nmax = 4\ndefault = §5\n",
			[]string{`default of option "x": option x is a whole number from 1 to 4, not "5"`}},
		{"default misspelt", prelude + "[option.x]\ntype = \"choice\"\nchoices = [\"single\", \"pair\"]\ndefault = §\"pairs\"\n",
			[]string{`default of option "x": option x cannot be "pairs": did you mean "pair"?`}},
		{"choices of a count", prelude + "[option.x]\ntype = \"count\"\nmax = 4\ndefault = 1\n§choices = [\"a\", \"b\"]\n",
			[]string{`choices is for options of type "choice"; option "x" is "count": take it out`}},
		{"no option", prelude + "[place.bin]\ncount = §\"=row\"\n", []string{`no option "row": did you mean "rows"?`}},

		// all at once, in the order of the text
		{"every mistake at once", prelude + "[job.a]\n§minuts = 1\nseverity = §\"now\"\nwhen = [{ every = §\"5 bales\" }, { past = §\"weer\" }]\n[setting.§c]\ntype = \"choice\"\n",
			[]string{`unknown key "minuts" in job "a": did you mean "minutes"?`, `severity of job "a" is "now": write "stop", "soon", "winter" or "tidy"`,
				`every of when of job "a": "5 bales": no counter counts in bales: this kind has area in ac and hours in h; count it on one of these or add a counter`, `no reading "weer": did you mean "wear"?`,
				`setting "c" has no choices: write choices = ["one", "other"]`}},
	})
}

// The whole message as a person sees it, with figures and not marks.
func TestParseMessage(t *testing.T) {
	_, err := Parse("drill.toml", []byte("shedbook_schedule = 1\nname = \"drill\"\n[counter.area]\nunit = \"ac\"\n[job.grease]\nwhen = [{ every = \"250 h\" }]\n"))
	want := `drill.toml:6:19: every of when of job "grease": "250 h": no counter counts in h: this kind has area in ac; count it on one of these or add a counter`
	if err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

func TestParseLimits(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"too long", "# " + strings.Repeat("x", MaxText), "t.toml:1:1: the text has 49154 bytes; a schedule has at most 49152: shorten the notes, or make two kinds of it"},
		{"too deep", "a = " + strings.Repeat("[", 60) + strings.Repeat("]", 60), "t.toml:1:1: this is nested deeper than 32 levels: no key of a schedule lies so deep"},
		{"not UTF-8", "a = 1\nb = \"\xff\"\n", "t.toml:2:6: the text is not UTF-8 from here: save the file as UTF-8"},
	} {
		_, err := Parse("t.toml", []byte(c.text))
		if err == nil || err.Error() != c.want {
			t.Errorf("%s: got %v, want %s", c.name, err, c.want)
		}
	}
}
