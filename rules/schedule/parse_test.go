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

func TestParseMistakes(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []string
	}{
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
			[]string{`name of the schedule is "Disc Drill", which is no word: write small letters, digits and single dashes, a letter first, at most 40`}},
		{"date", "shedbook_schedule = 1\nname = \"x\"\ntitle = §2026-01-01\n", []string{`title of the schedule is a date or time: write a text in quotes`}},
		{"unknown at the top", "§jobs = 1\n" + prelude, []string{`unknown key "jobs" at the top: did you mean "job"?`}},
		{"control character", strings.Replace(prelude, "work =", "about = §\"a\\u001bb\"\nwork =", 1),
			[]string{`about of the schedule holds the control character U+001B: take it out`}},
		{"a list for tables by name", prelude + "[[§spec]]\nvalue = \"x\"\n", []string{`spec is a list: write [spec.NAME] for each`}},
		{"a text for a table", prelude + "[spec]\noil = §\"x\"\n", []string{`spec "oil" is a text: write a table, [...] or { ... }`}},
		{"a name that is no word", prelude + "[spec.§Oil]\nvalue = \"x\"\n",
			[]string{`spec "Oil" has a name that is no word: write small letters, digits and single dashes, a letter first, at most 40`}},

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

		// places, groups, pairs, parts
		{"place without places", prelude + "[place.§bin]\n", []string{`place "bin" says nothing of what it is about: write one of count or names`}},
		{"place with both", prelude + "[place.bin]\ncount = 2\n§names = [\"a\", \"b\"]\n",
			[]string{`place "bin" has both count and names: keep one; a second one makes a second entry of the list`}},
		{"too many places", prelude + "[place.bin]\ncount = §5000\n", []string{`count of place "bin" is 5000: write a whole number from 1 to 999`}},
		{"one hand", prelude + "[place.bin]\ncount = 2\n§hands = [\"left\"]\n", []string{`hands of place "bin" names 1 things: write hands = ["left", "right"]`}},
		{"group of nothing", prelude + "[group.g]\nof = §\"rows\"\nlist = \"1\"\n", []string{`no place "rows": did you mean "row"?`}},
		{"group share backwards", prelude + "[group.g]\nof = \"row\"\nfrom = \"2/3\"\nto = §\"1/3\"\n",
			[]string{`group "g" runs from 2/3 to 1/3 of the width: 0 is the left end, 1 the right end`}},
		{"group list backwards", prelude + "[group.g]\nof = \"row\"\nlist = §\"8-3\"\n", []string{`list of group "g": "8-3" runs backwards: write 3-8`}},
		{"group two ways", prelude + "[group.g]\nof = \"row\"\nrank = \"rear\"\n§list = \"3\"\n",
			[]string{`group "g" has both rank and list: keep one; a second one makes a second entry of the list`}},
		{"pair list", prelude + "[pair.p]\nof = \"wheel\"\nhow = \"list\"\nlist = [§\"front-rear\"]\n",
			[]string{`list of pair "p" holds "front-rear", which is no pair: write "1+2" or "left-front+right-front"`}},
		{"handed part at one-handed place", prelude + "[part.tyre]\nof = \"wheel\"\nhanded = §true\n",
			[]string{`part "tyre" is handed, but its place has no hands: give the place hands = ["left", "right"]`}},
		{"lead in hours", prelude + "[part.tyre]\nlead = §\"40 h\"\n", []string{`lead of part "tyre" is 40 h, no calendar time: write "14 d" or "2 wk"`}},
		{"partner of another noun", prelude + "[pair.axle]\nof = \"wheel\"\nhow = \"mirror\"\n[part.tyre]\nof = \"row\"\npartner = §\"axle\"\n",
			[]string{`pair "axle" is of wheel, part "tyre" of row: name a pair of the same places`}},
		{"condition out of place", prelude + "[part.tyre]\nonly = §{ ground = \"wet\" }\n",
			[]string{`only of part "tyre" may name options only: what holds at some times belongs into while of a trigger`}},
		{"condition on an impossible value", prelude + "[part.tyre]\nonly = { option = \"style\", is = §\"fance\" }\n",
			[]string{`option style cannot be "fance": did you mean "fancy"?`}},
		{"condition without value", prelude + "[part.tyre]\nonly = §{ option = \"style\" }\n", []string{`only of part "tyre" has no is: write is = "word" or is = ["this", "that"]`}},

		// settings and readings
		{"setting without type", prelude + "[setting.§s]\n", []string{`setting "s" has no type: write type = "steps", "choice", "count" or "amount"`}},
		{"steps without range", prelude + "[setting.§s]\ntype = \"steps\"\n", []string{`setting "s" has no range: write min and max`}},
		{"range backwards", prelude + "[setting.s]\ntype = \"count\"\nmin = 4\nmax = §2\n", []string{`setting "s" runs from 4 to 2: the greatest must be more than the least`}},
		{"range between steps", prelude + "[setting.s]\ntype = \"amount\"\nunit = \"in\"\nmin = \"0 in\"\nmax = §\"1.3 in\"\nstep = \"0.5 in\"\n",
			[]string{`max of setting "s", 1.3 in, is not a whole number of steps of 0.5 in from 0 in: count the steps from min`}},
		{"another dimension", prelude + "[setting.s]\ntype = \"amount\"\nunit = \"in\"\nmin = §\"5 psi\"\n",
			[]string{`min of setting "s": "5 psi" is a pressure, but a length is wanted, such as 5 in`}},
		{"choices of steps", prelude + "[setting.s]\ntype = \"steps\"\nmin = 1\nmax = 3\n§choices = [\"a\", \"b\"]\n",
			[]string{`setting "s" has choices, but it is no choice: take it out`}},
		{"grades and unit", prelude + "[reading.r]\ngrades = [\"ok\", \"bad\"]\n§unit = \"in\"\n", []string{`reading "r" has unit, but it is told in grades: take one of them out`}},
		{"bad_from misspelt", prelude + "[reading.r]\ngrades = [\"ok\", \"watch\", \"bad\"]\nbad_from = §\"wach\"\n",
			[]string{`bad_from of reading "r" is "wach", which is none of its grades: did you mean "watch"?`}},
		{"empty limit", prelude + "[reading.r]\nunit = \"in\"\nlimit = §{ falls = true }\n",
			[]string{`limit of reading "r" has no limit in it: write one of min, max, share, step and neighbours`}},
		{"limit backwards", prelude + "[reading.r]\nunit = \"in\"\nlimit = { min = \"3 in\", max = §\"2 in\" }\n",
			[]string{`limit of reading "r" runs from 3 in to 2 in: the upper limit must be more than the lower`}},
		{"limit never reached", prelude + "[reading.r]\nunit = \"in\"\nlimit = [{ max = \"2 in\" }, §{ max = \"3 in\", only = { option = \"style\", is = \"fancy\" } }]\n",
			[]string{`limit 2 of reading "r" is never reached: the first whose options hold rules: put the one without only last`}},
		{"share that is none", prelude + "[reading.r]\nunit = \"in\"\nlimit = { share = §\"2 in\" }\n", []string{`share of limit of reading "r" is 2 in, a length: write "85 %"`}},
		{"k of n", prelude + "[reading.r]\nunit = \"in\"\nlimit = { max = \"2 in\", k = 5, of = §3 }\n",
			[]string{`limit of reading "r" counts 5 of 3: write k = 2 and of = 8: two of any eight`}},
		{"computed from one", prelude + "[reading.r]\nunit = \"in\"\ncomputed = { how = \"sum\", §from = [\"wear\"] }\n",
			[]string{`computed of reading "r" is worked out from 1 readings: name two`}},
		{"computed from nothing", prelude + "[reading.r]\nunit = \"in\"\ncomputed = { how = \"sum\", from = [\"wear\", §\"ware\"] }\n",
			[]string{`no reading or setting "ware": did you mean "wear"?`}},
		{"correction of no condition", prelude + "[reading.r]\nunit = \"L/min\"\ncondition = \"pressure\"\ncorrect = { condition = §\"presure\", rated = \"3 bar\", power = \"1/2\" }\n",
			[]string{`correct of reading "r" names "presure", which is no condition of the reading: did you mean "pressure"?`}},

		// jobs and triggers
		{"unknown key", prelude + "[job.j]\n§minuts = 2\n", []string{`unknown key "minuts" in job "j": did you mean "minutes"?`}},
		{"unknown key in a trigger", prelude + "[job.j]\nwhen = [{ every = \"5 h\" }, { §evry = \"5 h\", worked = 1 }]\n",
			[]string{`unknown key "evry" in when of job "j": did you mean "every"?`}},
		{"severity", prelude + "[job.j]\nseverity = §\"sone\"\n", []string{`severity of job "j" is "sone": did you mean "soon"?`}},
		{"minutes", prelude + "[job.j]\nminutes = §\"half\"\n", []string{`minutes of job "j" is "half": write a number such as 2, 2.5 or "1/3"`}},
		{"unknown caution", prelude + "[job.j]\ncautions = [§\"blade\"]\n", []string{`no caution or standard caution "blade": did you mean "blades"?`}},
		{"unknown part", prelude + "[job.j]\nof = \"row\"\nswaps = §\"blades\"\n", []string{`no part or assembly "blades": did you mean "blade"?`}},
		{"part at other places", prelude + "[job.j]\nof = \"wheel\"\nswaps = §\"blade\"\n", []string{`part "blade" sits at row, job "j" is of wheel: give both the same of`}},
		{"includes itself", prelude + "[job.j]\nincludes = [§\"j\"]\n", []string{`includes of job "j" names the job itself: take it out`}},
		{"includes in a ring", prelude + "[job.a]\n§includes = [\"b\"]\n[job.b]\n§includes = [\"a\"]\n",
			[]string{`job "a" includes itself by way of others: let the bigger job include the smaller one only`, `job "b" includes itself by way of others: let the bigger job include the smaller one only`}},
		{"loosens what is not tightened", prelude + "[job.a]\nloosens = [§\"b\"]\n[job.b]\n", []string{`job "b" has no torques: what is loosened needs a job that tightens it`}},
		{"measures other places", prelude + "[job.j]\nof = \"wheel\"\nmeasures = [§\"wear\"]\n", []string{`reading "wear" is of row, job "j" of wheel: give both the same of`}},
		{"torque that is none", prelude + "[job.j]\ntorques = [{ what = \"nut\", value = §\"75 lb\" }]\n", []string{`value of torques of job "j" is 75 lb, a mass: write "75 lbf.ft"`}},
		{"torque out of its range", prelude + "[job.j]\ntorques = [{ what = \"nut\", value = §\"75 N.m\", min = \"80 N.m\", max = \"90 N.m\" }]\n",
			[]string{`torques of job "j" is 75 N.m, outside 80 N.m to 90 N.m: min, value and max go upwards`}},
		{"no trigger", prelude + "[job.j]\nwhen = [§{ stored = \"run\" }]\n",
			[]string{`when of job "j" has no trigger in it: write one of every, worked, idle, season, after, past, forecast, made or until`}},
		{"two triggers in one", prelude + "[job.j]\nwhen = [{ every = \"5 h\", §worked = 1 }]\n",
			[]string{`when of job "j" has both every and worked: write each in an entry of its own: whichever comes first rules`}},
		{"no such counter", prelude + "[job.j]\nwhen = [{ every = §\"500 bales\" }]\n",
			[]string{`every of when of job "j": "500 bales": no counter counts in bales: this kind has area in ac and hours in h`}},
		{"no counter of that name", prelude + "[job.j]\nwhen = [{ every = §\"50 h on hour\" }]\n",
			[]string{`every of when of job "j": "50 h on hour": no counter "hour": did you mean "hours"?`}},
		{"counter in other units", prelude + "[job.j]\nwhen = [{ every = §\"50 h on area\" }]\n",
			[]string{`every of when of job "j": "50 h on area": the counter area does not count in h`}},
		{"two counters could be meant", prelude + "[counter.pto]\nunit = \"h\"\n[job.j]\nwhen = [{ every = §\"50 h\" }]\n",
			[]string{`every of when of job "j": "50 h" could be on hours or pto: write "50 h on hours"`}},
		{"half a month", prelude + "[job.j]\nwhen = [{ every = §\"1.5 mo\" }]\n",
			[]string{`every of when of job "j": "1.5 mo" has a part of a day: write whole days, weeks, months or years`}},
		{"no interval", prelude + "[job.j]\nwhen = [{ every = §\"0 h\" }]\n", []string{`every of when of job "j": "0 h" is no interval: it must be more than nothing`}},
		{"two intervals of a kind", prelude + "[job.j]\nwhen = [{ every = [\"50 h\", §\"60 h\"] }]\n",
			[]string{`every of when of job "j" has two intervals of one kind, 50 h and 60 h: keep one`}},
		{"first without every", prelude + "[job.j]\nwhen = [{ worked = 5, §first = \"5 h\" }]\n", []string{`first of when of job "j" goes with every only: take it out`}},
		{"grid of months", prelude + "[job.j]\nwhen = [{ every = §\"6 mo\", grid = true }]\n",
			[]string{`every of when of job "j" is 6 mo: calendar time has no grid: a grid counts from a counter's zero`}},
		{"unknown work", prelude + "[job.j]\nwhen = [{ season = \"before\", work = §\"seding\" }]\n", []string{`no work "seding": did you mean "seeding"?`}},
		{"no event", prelude + "[job.j]\nwhen = [{ after = §\"swop:blade\" }]\n", []string{`after of when of job "j" is "swop:blade", which is no event: did you mean "swap"?`}},
		{"event of nothing", prelude + "[job.j]\nwhen = [{ after = §\"swap\" }]\n", []string{`after of when of job "j" is "swap": name the part or assembly: swap:NAME`}},
		{"event of an unknown thing", prelude + "[job.j]\nwhen = [{ after = §\"swap:blad\" }]\n", []string{`no part or assembly "blad": did you mean "blade"?`}},
		{"event of too much", prelude + "[job.j]\nwhen = [{ after = §\"hitch:row\" }]\n", []string{`after of when of job "j" is "hitch:row": nothing goes after hitch: write "hitch"`}},
		{"series backwards", prelude + "[job.j]\nwhen = [{ after = \"hitch\", series = [\"10 h\", §\"1 h\"] }]\n",
			[]string{`series of when of job "j" goes from 10 h to 1 h: count every step from the event: 1 h, 10 h, 50 h`}},
		{"until no result", prelude + "[job.j]\nresults = [\"moved\"]\nwhen = [{ after = \"hitch\", then = \"10 h\", until_result = §\"none-moved\" }]\n",
			[]string{`until_result of when of job "j" is "none-moved", which is none of the job's results: known are moved`}},
		{"loosened but nothing to tighten", prelude + "[job.j]\nwhen = [{ after = §\"loosened\" }]\n",
			[]string{`after of when of job "j" is loosened, but the job has no torques: give the job torques: what it tightens`}},
		{"past without limit", prelude + "[reading.r]\nunit = \"in\"\n[job.j]\nwhen = [{ past = §\"r\" }]\n",
			[]string{`past of when of job "j": reading "r" has no limit: give the reading a limit, or grades with bad_from`}},
		{"forecast of grades", prelude + "[reading.r]\ngrades = [\"ok\", \"bad\"]\nbad_from = \"bad\"\n[job.j]\nwhen = [{ forecast = §\"r\" }]\n",
			[]string{`forecast of when of job "j": reading "r" has no course: only an amount with min, max or share can be forecast`}},
		{"past at other places", prelude + "[job.j]\nof = \"wheel\"\nwhen = [{ past = §\"wear\" }]\n", []string{`reading "wear" is of row, job "j" of wheel: give both the same of`}},
		{"made without every", prelude + "[job.j]\nwhen = [§{ made = \"blade\" }]\n", []string{`when of job "j" has no every: say how long after the date of make: every = "10 yr"`}},
		{"made by hours", prelude + "[job.j]\nwhen = [{ made = \"blade\", every = §\"10 h\" }]\n",
			[]string{`every of when of job "j" is 10 h: a date of make is counted in calendar time: write years or months`}},
		{"factor of nothing", prelude + "[job.j]\nwhen = [{ every = \"5 h\", factors = [{ by = §0, while = { ground = \"wet\" } }] }]\n",
			[]string{`by of factors of when of job "j" is 0: write by = "1/2" to halve the interval`}},

		// relations, set-ups, specs, cautions
		{"rows overlap", prelude + "[setting.h]\nof = \"row\"\ntype = \"amount\"\nunit = \"in\"\n[relation.r]\nthing = \"h\"\nby = \"wear\"\nrows = [\n" +
			"{ from = \"1 in\", to = \"3 in\", min = \"1 in\", max = \"2 in\" },\n{ from = §\"2 in\", to = \"4 in\", min = \"1 in\", max = \"2 in\" }]\n",
			[]string{`row 2 of relation "r" overlaps row 1: let each row begin where the last one ends`}},
		{"relation over other places", prelude + "[reading.w]\nof = \"wheel\"\nunit = \"in\"\n[relation.r]\nthing = \"w\"\nby = §\"wear\"\nrows = [{ from = 1, to = 2, min = 1, max = 2 }]\n",
			[]string{`"w" is of wheel, "wear" of row: both are of the same places, or the second is of the machine`}},
		{"set-up of nothing", prelude + "[setup.u]\nvalues = [{ setting = §\"dept\", to = 3 }]\n", []string{`no setting "dept": did you mean "depth"?`}},
		{"set-up out of range", prelude + "[setup.u]\nvalues = [{ setting = \"depth\", to = §30 }]\n",
			[]string{`to of a value of setup "u": depth cannot be 30: it goes from 1 to 10`}},
		{"spec without value", prelude + "[spec.§oil]\n", []string{`spec "oil" has no value: write the line of the spec card`}},
		{"standard caution rewritten", prelude + "[caution.§blades]\ntext = \"mind them\"\n",
			[]string{`caution "blades" is a standard one and keeps its words: give yours another name and list both`}},

		// all at once, in the order of the text
		{"every mistake at once", prelude + "[job.a]\n§minuts = 1\nseverity = §\"now\"\nwhen = [{ every = §\"5 bales\" }, { past = §\"weer\" }]\n[setting.§c]\ntype = \"choice\"\n",
			[]string{`unknown key "minuts" in job "a": did you mean "minutes"?`, `severity of job "a" is "now": write "stop", "soon", "winter" or "tidy"`,
				`every of when of job "a": "5 bales": no counter counts in bales: this kind has area in ac and hours in h`, `no reading "weer": did you mean "wear"?`,
				`setting "c" has no choices: write choices = ["one", "other"]`}},
	} {
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

// The whole message as a person sees it, with figures and not marks.
func TestParseMessage(t *testing.T) {
	_, err := Parse("drill.toml", []byte("shedbook_schedule = 1\nname = \"drill\"\n[counter.area]\nunit = \"ac\"\n[job.grease]\nwhen = [{ every = \"250 h\" }]\n"))
	want := `drill.toml:6:19: every of when of job "grease": "250 h": no counter counts in h: this kind has area in ac`
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
