package main

import (
	"fmt"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/intake"
	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/ledger/gitstore"
	"shedbook/rules"
	"shedbook/rules/quantity"
)

func importFleetCommand() *command {
	var machines []string
	var skipBad bool
	return &command{
		name: "import fleet", section: "in the shed", brief: "take over hours and distance from a fleet snapshot", writes: true,
		usage:    []string{"import fleet FILE [--machine THEIRS=OURS] [--skip-bad]"},
		examples: []string{"import fleet snapshot.xml --dry-run", "import fleet snapshot.xml --machine EX0000000000001=tractor", "import fleet snapshot.xml --machine 000002=none"},
		about: `FILE is a fleet snapshot after ISO 15143-3. What its machines showed in hours, distance and fuel becomes counter entries of the moment it names, in this computer's time, for those counters that the machine has here. ` +
			`Idle hours, places and faults are not read. A machine is found by its serial number (shedbook machine list --json), or said once with --machine, by its PIN, serial number or equipment id, and remembered on this computer; none leaves it out. ` +
			`A snapshot imported again adds nothing. FILE - reads what is piped in.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringArrayVar(&machines, "machine", nil, "a machine of the file and ours: `THEIRS=OURS`")
			fs.BoolVar(&skipBad, "skip-bad", false, "leave out what cannot be imported, and what looks like a slip")
		},
		run: func(c *call) error {
			if len(c.args) != 1 {
				return usage("shedbook import fleet snapshot.xml --dry-run", "import fleet takes the file to read")
			}
			return c.importFleet(c.args[0], machines, skipBad)
		},
	}
}

func importTasksCommand() *command {
	var machines []string
	var skipBad bool
	var totals string
	return &command{
		name: "import tasks", section: "in the shed", brief: "take over hours and area from task files", writes: true,
		usage:    []string{"import tasks FILE|FOLDER [--machine THEIRS=OURS] [--totals running|each] [--skip-bad]"},
		examples: []string{"import tasks TASKDATA --dry-run", `import tasks TASKDATA --machine "Grain drill=drill"`, "import tasks TASKDATA.XML --totals each"},
		about: `Reads TASKDATA.XML after ISO 11783-10, alone or in its folder. What each device did in each task, its total area, effective time and effective distance, is added to those counters that the machine has here, on the day the task ended. ` +
			`A machine is found by its serial number, or said once with --machine, by the device's serial number, its name on the network or its designator, and remembered on this computer; none leaves it out. Where a task has several recorded times, --totals says whether each total carries on the one before (running) or stands for its own time (each). ` +
			`A task imported again adds nothing; one that went on since comes as a further entry: strike the older one. A counter that is also read by hand should not be added to twice.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringArrayVar(&machines, "machine", nil, "a device of the file and our machine: `THEIRS=OURS`")
			fs.StringVar(&totals, "totals", "", "how totals of one task go together: `running` or each")
			fs.BoolVar(&skipBad, "skip-bad", false, "leave out what cannot be imported, and what looks like a slip")
		},
		run: func(c *call) error {
			if len(c.args) != 1 {
				return usage("shedbook import tasks TASKDATA --dry-run", "import tasks takes the file or its folder")
			}
			sums, err := oneOf("--totals", totals, []string{"running", "each"})
			if err != nil {
				return err
			}
			return c.importTasks(c.args[0], machines, intake.Sums(sums), skipBad)
		},
	}
}

// foreign finds our machines by what other programs call them.
type foreign struct {
	st    *rules.State
	known []gitstore.Known
}

// none marks a machine of theirs that is left out.
const none = "none"

func (b *book) foreign(said []string) (*foreign, error) {
	st, err := b.state(b.c.today(), "")
	if err != nil {
		return nil, err
	}
	f := &foreign{st: st, known: slices.Clone(b.local.Known)}
	for _, s := range said {
		as, ours, err := nameValue("machine", s)
		if err != nil {
			return nil, err
		}
		k := gitstore.Known{As: as, Machine: none}
		if !strings.EqualFold(ours, none) {
			m, err := findMachine(st, strings.ToLower(ours))
			if err != nil {
				return nil, err
			}
			k.Machine = string(m.ID)
		}
		f.known = slices.DeleteFunc(f.known, func(o gitstore.Known) bool { return strings.EqualFold(o.As, as) })
		f.known = append(f.known, k)
	}
	return f, nil
}

func (f *foreign) keep(b *book) error {
	local := b.store.Local()
	if slices.Equal(local.Known, f.known) {
		return nil
	}
	local.Known = f.known
	return b.store.SetLocal(local)
}

// machine finds one by its names in the file, the surest first; serial is among them. left says why it is left out.
func (f *foreign) machine(serials []string, names ...string) (m *rules.Machine, left string, err error) {
	all := append(slices.Clone(serials), names...)
	all = slices.DeleteFunc(all, func(s string) bool { return s == "" })
	for _, name := range all {
		for _, k := range f.known {
			if !strings.EqualFold(k.As, name) {
				continue
			}
			if k.Machine == none {
				return nil, name + " is none of ours", nil
			}
			if m := f.st.MachineByID(rules.ID(k.Machine)); m != nil {
				return m, "", nil
			}
		}
	}
	for _, s := range serials {
		var found []*rules.Machine
		for _, m := range f.st.Machines {
			if s != "" && strings.EqualFold(m.Serial, s) {
				found = append(found, m)
			}
		}
		if len(found) == 1 {
			return found[0], "", nil
		}
		if len(found) > 1 {
			return nil, "", failed("unknown-machine", fmt.Sprintf("--machine %q", s+"="+found[0].Name), "%s and %s both have the serial number %s", found[0].Name, found[1].Name, s)
		}
	}
	return nil, "", failed("unknown-machine", fmt.Sprintf("--machine %q, or --machine %q to leave it out", all[0]+"=OURS", all[0]+"=none"), "no machine here is known as %s", strings.Join(all, " or "))
}

// counterIn is the one counter of a machine that counts in such units: the main one, else the first that is not zeroed.
func counterIn(m *rules.Machine, unit string) string {
	if m.Fitted == nil {
		return ""
	}
	u := quantity.MustUnit(unit)
	if c := m.Fitted.MainCounter(); c != nil && u.Converts(c.Unit) {
		return c.Name
	}
	for _, c := range m.Fitted.Counters {
		if u.Converts(c.Unit) && (m.Counters[c.Name] == nil || !m.Counters[c.Name].Trip) && !strings.HasPrefix(c.Name, "trip") {
			return c.Name
		}
	}
	return ""
}

// openImport opens the book that a file of another program's machines goes into.
func (c *call) openImport(machines []string, name string, data []byte, skipBad bool) (*book, *foreign, *importing, error) {
	b, err := c.open()
	if err != nil {
		return nil, nil, nil, err
	}
	f, err := b.foreign(machines)
	if err != nil {
		return nil, nil, nil, err
	}
	again := c.cmd.name + " " + typedWord(name)
	for _, x := range []struct {
		flag string
		said []string
	}{{"book", c.books}, {"machine", machines}} {
		for _, s := range x.said {
			again += " --" + x.flag + " " + typedWord(s)
		}
	}
	return b, f, &importing{name: name, digest: digestOf(data), skipBad: skipBad, keep: f.keep, again: "shedbook " + again}, nil
}

// machine is the one that a line of the file is about; nil, with a row that says why, where it is none of ours.
func (im *importing) machine(f *foreign, line int, serials []string, names ...string) *rules.Machine {
	m, left, err := f.machine(serials, names...)
	if err != nil || left != "" {
		im.rows = append(im.rows, &importRow{line: line, err: err, left: left})
		return nil
	}
	return m
}

func (c *call) importFleet(name string, machines []string, skipBad bool) error {
	data, err := c.readImport(name)
	if err != nil {
		return err
	}
	fleet, err := intake.ReadFleet(data)
	if err != nil {
		return badFile(name, err, "ask its program for a fleet snapshot after ISO 15143-3, as XML")
	}
	b, f, im, err := c.openImport(machines, name, data, skipBad)
	if err != nil {
		return err
	}
	for _, q := range fleet {
		m := im.machine(f, q.Line, []string{q.PIN, q.Serial}, q.ID)
		if m == nil {
			continue
		}
		if len(q.Readings) == 0 {
			im.rows = append(im.rows, &importRow{line: q.Line, left: m.Name + ": no hours, distance or fuel is said"})
		}
		for _, r := range q.Readings {
			row := &importRow{line: r.Line}
			if name := counterIn(m, r.Unit); name == "" {
				row.left = fmt.Sprintf("%s: %s: no counter here counts it", m.Name, r.What)
			} else {
				row.act = phone.Act{Kind: "counter", Machine: m.Name, What: name, Value: plainDecimal(r.Value) + " " + r.Unit, Flags: []string{"--done=" + c.localMinute(r.At)}}
			}
			im.rows = append(im.rows, row)
		}
	}
	return c.importAll(b, im)
}

// localMinute is a moment as this farm's clock showed it.
func (c *call) localMinute(t time.Time) string {
	return t.In(c.now().Location()).Format("2006-01-02T15:04")
}

// plainDecimal takes off what a decimal can be written without.
func plainDecimal(s string) string {
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s = strings.TrimLeft(s, "0"); s == "" || s[0] == '.' {
		s = "0" + s
	}
	return s
}

func (c *call) importTasks(name string, machines []string, sums intake.Sums, skipBad bool) error {
	var more func(string) ([]byte, error)
	file := name
	if info, err := os.Stat(c.path(name)); name != "-" && err == nil && info.IsDir() {
		if file, err = taskFile(c.path(name)); err != nil {
			return failed("no-file", "name the folder that holds TASKDATA.XML, or the file", "%v", err)
		}
	}
	data, err := c.readImport(file)
	if err != nil {
		return err
	}
	whole := slices.Clone(data)
	if file != "-" {
		more = func(part string) ([]byte, error) {
			b, err := c.readImport(filepath.Join(filepath.Dir(c.path(file)), part))
			whole = append(whole, b...)
			return b, err
		}
	}
	totals, err := intake.ReadTasks(data, sums, c.now().Location(), more)
	if err != nil {
		return badFile(name, err, "where totals are meant, say --totals running or --totals each; else have the terminal write the file again")
	}
	b, f, im, err := c.openImport(machines, name, whole, skipBad)
	if err != nil {
		return err
	}
	if sums != "" {
		im.again += " --totals " + string(sums)
	}
	for _, t := range totals {
		m := im.machine(f, t.Line, []string{t.Device.Serial}, t.Device.Name, t.Device.Designator)
		if m == nil {
			continue
		}
		for _, x := range []struct {
			what  string
			n     int64
			value func(int64) string
			unit  string
		}{{"area", t.Area, hectares, "ha"}, {"time", t.Seconds, hoursOf, "h"}, {"distance", t.Millimetres, kilometres, "km"}} {
			if x.n == 0 {
				continue
			}
			row := &importRow{line: t.Line}
			if name := counterIn(m, x.unit); name == "" {
				row.left = fmt.Sprintf("%s: %s: no counter here counts it", m.Name, x.what)
			} else {
				row.act = phone.Act{Kind: "counter", Machine: m.Name, What: name, Value: "+" + x.value(x.n), Flags: []string{"--done=" + c.localMinute(t.Until)}}
				if t.Field != "" {
					row.act.Flags = append(row.act.Flags, "--field="+t.Field)
				}
				if t.Designator != "" {
					row.act.Flags = append(row.act.Flags, "--note="+t.Designator)
				}
			}
			im.rows = append(im.rows, row)
		}
	}
	if len(im.rows) == 0 {
		return failed("bad-file", "", "%s: no task in it says what a device did; nothing was recorded", name)
	}
	return c.importAll(b, im)
}

// taskFile finds TASKDATA.XML in a folder, in whatever case it is written.
func taskFile(dir string) (string, error) {
	files, err := os.ReadDir(dir)
	if err != nil {
		return "", err
	}
	for _, f := range files {
		if strings.EqualFold(f.Name(), "TASKDATA.XML") {
			return filepath.Join(dir, f.Name()), nil
		}
	}
	return "", fmt.Errorf("%s holds no TASKDATA.XML", dir)
}

// hectares, kilometres and hoursOf write the units of a task file without rounding.
func hectares(m2 int64) string { return decimals(m2, 10_000, 4) + " ha" }

func kilometres(mm int64) string { return decimals(mm, 1_000_000, 6) + " km" }

func hoursOf(s int64) string {
	switch {
	case s%36 == 0:
		return decimals(s, 3600, 2) + " h"
	case s%6 == 0:
		return decimals(s, 60, 1) + " min"
	}
	return fmt.Sprintf("%d s", s)
}

func decimals(n, of int64, places int) string {
	return plainDecimal(big.NewRat(n, of).FloatString(places))
}
