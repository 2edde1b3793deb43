package main

import (
	"time"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/rules"
	"shedbook/rules/record"
)

// carding is what a person asks of jobcard.
type carding struct {
	farm, yard, person, before, machine, out string
	pocket, wall                             bool
	phone                                    string // where the page for phones is open, as said; then its address
}

func jobcardCommand() *command {
	var a carding
	return &command{
		name: "jobcard", section: "sharing", brief: "write a card to print: what is due, with boxes to fill in", reads: true,
		usage: []string{"jobcard MACHINE [--before SEASON|DATE] [--pocket | --wall] [--phone ADDRESS] [--out FILE.html]", "jobcard --yard NAME | --farm NAME [--person NAME] [--out FILE.html]"},
		examples: []string{
			"jobcard drill", "jobcard --yard home --out monday.html", "jobcard drill --pocket",
			`jobcard drill --before "spring seeding 2027"`, "jobcard drill --wall", "jobcard drill --phone 192.168.1.20",
		},
		about: `What is overdue, due, open, and comes due within two weeks (or --before a season or day), in an order that opens each thing once: cautions first, beside each job its torque, limits and tools, and for each place a box in walking order, ` +
			`with the last value in small print. Under each job stands the line that records it afterwards: measure --ask goes through the places in the same order.

--phone prints a square beside each job: a phone that is paired opens the page at that job while shedbook phone runs there.

--pocket writes a small card for the field instead: what is set now, torques, what is wrong, and lines to fill in. --wall writes a chart for the shop: what comes due at which reading of the counter until the season ends.

The page is for printing from any browser, on Letter or A4. Without --out it is written here, under a name made of the machine's or yard's. ` + manualRules,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&a.before, "before", "", "what comes due before this `season or day`, not only within two weeks")
			fs.StringVar(&a.farm, "farm", "", "a card for each machine of this `farm`")
			fs.StringVar(&a.yard, "yard", "", "a card for each machine at this `yard`")
			fs.StringVar(&a.person, "person", "", "only the work that this `person` did the last time")
			fs.BoolVar(&a.pocket, "pocket", false, "a small card for the field")
			fs.BoolVar(&a.wall, "wall", false, "a chart for the shop's wall")
			fs.StringVar(&a.phone, "phone", "", "beside each job a square that leads a phone to it: the `address` that phone --lan was told")
			fs.StringVar(&a.out, "out", "", "write to this `file`, over what is there; - is the standard output")
		},
		run: func(c *call) error { return c.jobcard(a) },
	}
}

func (c *call) jobcard(a carding) error {
	switch {
	case len(c.args) > 1:
		return usage("shedbook jobcard drill", "jobcard takes one machine, or --yard or --farm")
	case len(c.args) == 1 && a.yard+a.farm != "":
		return usage("name one of them", "a machine and a yard or farm: which cards?")
	case len(c.args) == 1:
		a.machine = c.args[0]
	case a.yard+a.farm == "":
		return usage("shedbook jobcard drill, or shedbook jobcard --yard home", "jobcard of what? Name a machine, a yard or a farm")
	case a.pocket || a.wall:
		return usage("name a machine", "--pocket and --wall are of one machine")
	}
	if a.pocket && a.wall {
		return usage("say one of them", "--pocket and --wall: which one?")
	}
	if a.phone != "" {
		if a.pocket || a.wall {
			return usage("leave --phone out", "--phone belongs to a job card: a pocket card and a wall chart have no room for squares")
		}
		var err error
		if a.phone, err = phoneAt(a.phone); err != nil {
			return err
		}
	}
	b, err := c.open()
	if err != nil {
		return err
	}
	st, err := b.now()
	if err != nil {
		return err
	}
	var p *paper.Page
	kind := "job card"
	switch {
	case a.pocket:
		p, kind = nil, "pocket card"
		p, err = c.pocketPage(b, st, a)
	case a.wall:
		p, kind = nil, "wall chart"
		p, err = c.wallPage(b, st, a)
	default:
		p, err = c.cardPage(b, st, a)
	}
	if err != nil {
		return err
	}
	if a.out == "" {
		a.out = safeName("html", a.machine, a.yard, a.farm, kind)
	}
	if err := c.writePage(p, a.out); err != nil {
		return err
	}
	return b.soundness()
}

// soonDays is how far a job card looks ahead where nobody says: what comes due while it hangs in the shed.
const soonDays = 14

// cardDay is the day until which work is listed, and how it is called.
func (c *call) cardDay(st *rules.State, before string) (day, words string, err error) {
	if before != "" {
		return c.beforeDay(st, before)
	}
	t, err := time.Parse("2006-01-02", st.On)
	if err != nil {
		return "", "", err
	}
	day = t.AddDate(0, 0, soonDays).Format("2006-01-02")
	return day, weekday(record.Done(day)), nil
}

// newestOf is the entry written last of those that count for a machine, or of all where it is "": by it a sheet is known to be of this state of the book.
func newestOf(st *rules.State, machine record.ID) record.ID {
	var newest *rules.Effective
	for _, e := range st.Effective {
		if w := record.Base(e.Record); machine != "" && (w == nil || w.Machine != machine) {
			continue
		}
		if newest == nil || e.Entry.At > newest.Entry.At || e.Entry.At == newest.Entry.At && e.Entry.ID > newest.Entry.ID {
			newest = e
		}
	}
	if newest == nil {
		return ""
	}
	return newest.Entry.ID
}
