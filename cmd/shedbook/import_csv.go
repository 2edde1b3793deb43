package main

import (
	"maps"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/intake"
	"shedbook/ledger/gitstore"
)

func importCSVCommand() *command {
	o := &csvOptions{}
	return &command{
		name: "import csv", section: "in the shed", brief: "take over work from a table of another program", writes: true,
		usage: []string{"import csv FILE [--column WHAT=HEADING] [--set WHAT=TEXT] [--means WORD=OURS] [--dates dmy|mdy] [--decimal comma|point] [--skip-bad] [--forget]"},
		examples: []string{
			"import csv notebook.csv --dry-run",
			"import csv notebook.csv --column date=Day --column what=Job",
			"import csv old.csv --set machine=drill --means Greased=grease",
			`import csv old.csv --means Bent=fault --means "New disc=swap disc"`,
		},
		about: `Each row becomes the entry that its command would make, with the day it was done: in the book it stands as written down today. ` +
			`The columns: machine, date, time, place, what, value, unit, note, words, act, by, counter, field, crop, ground, minutes, cost, why; also the other flags of these commands, such as severity ones (winter=yes). Headings that are these words need no --column; #3 is the third column.

The column what holds a job, reading, setting, part or counter; a part is a new one put in. --means says what a word of the file stands for: one of these, or an act, with its part where it is of one: fault, repair, note, "swap disc", "repair hub". ` +
			`Of a part and the job that changes it ("new disc": disc, or disc-swap?) take the part: that records the swap, ends the old one's use and does the job; the job alone leaves the old part's use going on. Where a column of its own says what a row is (did, measure, adjust, swap, fault, repair, note, counter), it is the column act.

The column note is all a notebook needs for remarks: beside a job, reading, setting or part it is the remark, of a fault, repair or note it is what was wrong or done. The column words is for files that keep the two apart: it is what was wrong or done. Where a row has both, both are kept.

First look at --dry-run: it says what becomes of each row, and which columns are not used. All rows are imported or none, unless --skip-bad leaves out those that cannot be. A row that looks like a slip is asked about. ` +
			`The same row is not imported twice, also from a file that has grown or was saved in another form. How a file with the same heading was read is remembered on this computer, from a dry run too; --forget begins anew. FILE - reads what is piped in.`,
		flags: o.bind,
		run: func(c *call) error {
			if len(c.args) != 1 {
				return usage("shedbook import csv notebook.csv --dry-run", "import csv takes the file to read")
			}
			return c.importCSV(c.args[0], o)
		},
	}
}

type csvOptions struct {
	fs                  *pflag.FlagSet
	columns, set, means []string
	dates, decimal      string
	separator           string
	noHeading, skipBad  bool
	forget              bool
}

func (o *csvOptions) bind(fs *pflag.FlagSet) {
	o.fs = fs
	fs.StringArrayVar(&o.columns, "column", nil, "what a column holds: `machine=Heading`, or date=#3")
	fs.StringArrayVar(&o.set, "set", nil, "what holds for every row: `machine=drill`")
	fs.StringArrayVar(&o.means, "means", nil, "a word of the file and ours: \"`Greased=grease`\", \"New disc=swap disc\", Broke=fault")
	fs.StringVar(&o.dates, "dates", "", "how days like 4/5/2026 are written: `dmy` or mdy")
	fs.StringVar(&o.decimal, "decimal", "", "decimals are written with a `comma` or a point")
	fs.StringVar(&o.separator, "separator", "", "what stands between columns: `comma`, semicolon, tab or bar (left out: found)")
	fs.BoolVar(&o.noHeading, "no-heading", false, "the first row is no heading: columns are #1, #2, #3")
	fs.BoolVar(&o.forget, "forget", false, "read it anew: what was remembered of files with this heading is forgotten")
	fs.BoolVar(&o.skipBad, "skip-bad", false, "leave out rows that cannot be imported, and those that look like slips")
}

// ownColumns are the things a column can hold beside the flags of the commands. Each has other words under which a heading is known.
var ownColumns = map[string][]string{
	"machine": nil, "act": {"kind"}, "place": {"places", "position", "positions"}, "what": nil, "value": nil, "unit": {"units"}, "words": {"text"}, "date": {"done", "day"}, "time": nil,
}

// importFlags are the flags that a row may fill in, by the verbs that have them; true: it takes no value.
func importFlags() map[string]map[string]bool {
	out := map[string]map[string]bool{}
	for name, v := range importVerbs {
		fs := newFlagSet(name)
		v.bind(&said{}, fs)
		fs.VisitAll(func(f *pflag.Flag) {
			switch f.Name {
			case "done", "from", "values", "ask": // said by other columns, or of several rows at once
				return
			}
			if out[f.Name] == nil {
				out[f.Name] = map[string]bool{}
			}
			out[f.Name][name] = f.NoOptDefVal != ""
		})
	}
	return out
}

func (c *call) importCSV(name string, o *csvOptions) error {
	data, err := c.readImport(name)
	if err != nil {
		return err
	}
	sep, ok := map[string]rune{"": 0, "comma": ',', "semicolon": ';', "tab": '\t', "bar": '|'}[o.separator]
	if !ok {
		return usage("write --separator comma, semicolon, tab or bar", "--separator cannot be %q", o.separator)
	}
	t, err := intake.ReadTable(data, sep, !o.noHeading)
	if err != nil {
		return badFile(name, err, "open it in a spreadsheet and save it as CSV (UTF-8)")
	}
	b, err := c.open()
	if err != nil {
		return err
	}
	lay, before, err := o.layout(t, b.local.Layouts)
	if err != nil {
		return err
	}
	r := &rowReader{options: o, lay: lay, flags: importFlags(), at: map[string]int{}, books: c.books}
	if err := r.named(t, name); err != nil {
		return err
	}
	if len(before) > 0 {
		c.say("%s is read as before: %s (--forget begins anew)\n", name, strings.Join(before, " "))
	}
	keep := func(b *book) error { return rememberLayout(b, lay) }
	if err = r.find(t, name); err == nil {
		err = r.order(t, name)
	}
	if err != nil {
		c.keepReading(b, keep) // what was typed need not be typed again
		return err
	}
	im := &importing{name: name, digest: digestOf(data), skipBad: o.skipBad, unused: r.unused(t), again: r.asTyped(name, nil), keep: keep}
	if speaking(im.unused) {
		im.next = r.asTyped(name, im.unused) + " --dry-run"
	}
	for _, row := range t.Rows {
		im.rows = append(im.rows, r.row(row))
	}
	if len(im.rows) == 0 {
		return failed("bad-file", "", "%s: there is no row below the heading; nothing was recorded", name)
	}
	return c.importAll(b, im)
}

// layout is how the table is to be read: as one with this heading was before, with what is said now. before is what is not said now, as flags.
func (o *csvOptions) layout(t *intake.Table, kept []gitstore.Layout) (lay gitstore.Layout, before []string, err error) {
	key, err := plainJSON([]any{t.Heading, t.Columns})
	if err != nil {
		return lay, nil, err
	}
	lay = gitstore.Layout{Heading: digestOf(key), Columns: map[string]string{}, Set: map[string]string{}, Means: map[string]string{}}
	for _, k := range kept {
		if k.Heading == lay.Heading && !o.forget {
			maps.Copy(lay.Columns, k.Columns)
			maps.Copy(lay.Set, k.Set)
			maps.Copy(lay.Means, k.Means)
			lay.Dates, lay.Decimal = k.Dates, k.Decimal
		}
	}
	said := gitstore.Layout{Columns: map[string]string{}, Set: map[string]string{}, Means: map[string]string{}}
	for _, x := range []struct {
		flag string
		list []string
		into map[string]string
	}{{"column", o.columns, said.Columns}, {"set", o.set, said.Set}, {"means", o.means, said.Means}} {
		for _, s := range x.list {
			k, v, err := nameValue(x.flag, s)
			if err != nil {
				return lay, nil, err
			}
			if k = strings.ToLower(k); x.flag != "means" {
				if k, err = columnName(x.flag, k); err != nil {
					return lay, nil, err
				}
				delete(lay.Columns, k)
				delete(lay.Set, k)
			} else {
				delete(lay.Means, k)
			}
			x.into[k] = v
		}
	}
	maps.DeleteFunc(lay.Columns, func(_, heading string) bool { // it holds something else now
		for _, h := range said.Columns {
			if strings.EqualFold(h, heading) {
				return true
			}
		}
		return false
	})
	if o.fs.Changed("dates") {
		lay.Dates = ""
		if said.Dates, err = oneOf("--dates", o.dates, []string{"dmy", "mdy"}); err != nil {
			return lay, nil, err
		}
	}
	if o.fs.Changed("decimal") {
		lay.Decimal = ""
		if said.Decimal, err = oneOf("--decimal", o.decimal, []string{"comma", "point"}); err != nil {
			return lay, nil, err
		}
	}
	before = layoutWords(lay)
	maps.Copy(lay.Columns, said.Columns)
	maps.Copy(lay.Set, said.Set)
	maps.Copy(lay.Means, said.Means)
	lay.Dates, lay.Decimal = lay.Dates+said.Dates, lay.Decimal+said.Decimal
	return lay, before, nil
}

// plainFlags are the flags that a heading alone gives a column to. The others could be meant otherwise ("start", "left") and must be said.
var plainFlags = []string{"by", "note", "counter", "field", "crop", "ground", "minutes", "cost", "why"}

// ownHeading is what a column holds whose heading is one of our words.
func ownHeading(word string) (string, bool) {
	for name, also := range ownColumns {
		if word == name || slices.Contains(also, word) {
			return name, true
		}
	}
	return word, slices.Contains(plainFlags, word)
}

// columnName is our word for what a column holds.
func columnName(flag, word string) (string, error) {
	known := slices.Collect(maps.Keys(importFlags()))
	for name, also := range ownColumns {
		if word == name || slices.Contains(also, word) {
			return name, nil
		}
		known = append(known, name)
	}
	if !slices.Contains(known, word) {
		slices.Sort(known)
		return "", usage("shedbook import csv --help", "--%s: no column holds %q%s", flag, word, didYouMean(word, known))
	}
	return word, nil
}

func rememberLayout(b *book, lay gitstore.Layout) error {
	local := b.store.Local()
	same := func(k gitstore.Layout) bool {
		return k.Heading == lay.Heading && maps.Equal(k.Columns, lay.Columns) && maps.Equal(k.Set, lay.Set) && maps.Equal(k.Means, lay.Means) && k.Dates == lay.Dates && k.Decimal == lay.Decimal
	}
	kept := slices.ContainsFunc(local.Layouts, func(k gitstore.Layout) bool { return k.Heading == lay.Heading })
	if slices.ContainsFunc(local.Layouts, same) || !kept && len(layoutWords(lay)) == 0 {
		return nil
	}
	local.Layouts = slices.DeleteFunc(slices.Clone(local.Layouts), func(k gitstore.Layout) bool { return k.Heading == lay.Heading })
	local.Layouts = append(local.Layouts, lay)
	const most = 50
	local.Layouts = local.Layouts[max(0, len(local.Layouts)-most):]
	return b.store.SetLocal(local)
}
