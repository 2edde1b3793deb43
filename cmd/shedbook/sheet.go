package main

import (
	"bytes"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"shedbook/cmd/shedbook/internal/csvfile"
	"shedbook/rules"
	"shedbook/rules/record"
)

// sheets are what export --csv writes.
var sheets = []string{"entries", "state", "due", "prepare"}

// sheet is a table on its way into a file. Its first row's words stand in the help.
type sheet struct {
	heading []string
	rows    [][]csvfile.Cell
}

type sheetJSON struct {
	Format int    `json:"format"`
	Sheet  string `json:"sheet"`
	File   string `json:"file"`
	Rows   int    `json:"rows"`
}

func (s *sheet) row(cells ...csvfile.Cell) { s.rows = append(s.rows, cells) }

// exportSheet writes one table. args are the file, "-" for the standard output, and perhaps a machine.
func (c *call) exportSheet(what, before string, bom bool, args []string) error {
	if !slices.Contains(sheets, what) {
		return usage("write one of "+strings.Join(sheets, ", "), "there is no table %q%s", what, didYouMean(what, sheets))
	}
	if len(args) == 0 || len(args) > 2 {
		return usage("shedbook export --csv due due.csv", "--csv %s takes the file to write, - for the standard output, and perhaps a machine", what)
	}
	if args[0] == "-" && c.json {
		return usage("name a file, or leave --json out", "--csv %s to the standard output is a table, and --json one object: only one of them can stand there", what)
	}
	machine := strings.Join(args[1:], "")
	books, err := c.openAll()
	if err != nil {
		return err
	}
	var s *sheet
	switch what {
	case "entries":
		s, err = c.entriesSheet(machine)
	case "state":
		s, err = c.stateSheet(books, machine)
	case "due":
		s, err = c.dueSheet(books, machine)
	case "prepare":
		s, err = c.prepareSheet(books, machine, before)
	}
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := csvfile.Write(&b, s.heading, s.rows, csvfile.Options{BOM: bom}); err != nil {
		return err
	}
	switch {
	case args[0] == "-":
		_, err = c.stdout.Write(b.Bytes())
	default:
		if err = c.replaceFile(args[0], b.Bytes()); err == nil && c.json {
			err = c.printJSON(sheetJSON{1, what, args[0], len(s.rows)})
		} else if err == nil {
			c.aside()("", "wrote %s: %d rows", args[0], len(s.rows))
		}
	}
	if err != nil {
		return err
	}
	return soundAll(books)
}

// replaceFile writes a file whole or not at all, over what is there.
func (c *call) replaceFile(name string, data []byte) error {
	if err := writeWhole(c.path(name), data, 0o644); err != nil {
		return failed("not-written", "choose another folder", "nothing was written: %v", err)
	}
	return nil
}

// writeWhole puts data under path with one rename. Until then it stands in a new file beside it, under a name nobody else has: no other file is touched.
func writeWhole(path string, data []byte, mode os.FileMode) error {
	return writeBeside(path, mode, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// writeNew is writeWhole for a file that must not be there yet; the error is then fs.ErrExist.
func writeNew(path string, mode os.FileMode, write func(io.Writer) error) error {
	if _, err := os.Lstat(path); err == nil {
		return &fs.PathError{Op: "write", Path: path, Err: fs.ErrExist}
	}
	return writeBeside(path, mode, write)
}

func writeBeside(path string, mode os.FileMode, write func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*.tmp")
	if err != nil {
		return err
	}
	err = write(f)
	if err == nil {
		err = f.Chmod(mode)
	}
	if err == nil {
		err = f.Sync()
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		_ = os.Remove(f.Name())
	}
	return err
}

var (
	text = csvfile.Text
	cell = csvfile.Number
)

func ids(all []record.ID) csvfile.Cell {
	out := make([]string, len(all))
	for i, id := range all {
		out[i] = string(id)
	}
	return text(strings.Join(out, " "))
}

func places(all []string) csvfile.Cell { return text(strings.Join(all, " ")) }

// entriesSheet is a line for each entry that counts, as history has them.
func (c *call) entriesSheet(machine string) (*sheet, error) {
	if machine != "" {
		c.args = []string{machine}
	} else {
		c.args = nil
	}
	lines, _, err := c.gatherHistory(historyFilter{all: true}, "")
	if err != nil {
		return nil, err
	}
	s := &sheet{heading: []string{"done", "written", "machine", "kind", "who", "what", "state", "entry"}}
	for _, l := range c.historyJSON(lines) {
		s.row(text(string(l.Done)), text(l.At), text(l.Machine), text(l.Kind), text(l.Person), text(l.Sentence), text(l.Fate.State), text(string(l.ID)))
	}
	return s, nil
}

func (c *call) dueSheet(books []*book, machine string) (*sheet, error) {
	list, err := gatherDue(books, "", "", machine, rules.Filter{}, "", "")
	if err != nil {
		return nil, err
	}
	s := &sheet{heading: []string{"farm", "yard", "machine", "job", "positions", "state", "severity", "cause", "due_date", "due_counter", "due_value", "unit", "over", "over_unit", "last_done", "why", "entries"}}
	for _, i := range list.json(c).Items {
		s.row(text(i.Farm), text(i.Yard), text(i.Machine), text(i.Job), places(i.Positions), text(i.State), text(i.Severity), text(i.Cause), text(i.Due.Date), text(i.Due.Counter), cell(i.Due.Value), text(i.Due.Unit),
			cell(i.Over.Value), text(i.Over.Unit), text(string(i.Last.Done)), text(i.Why), ids(i.Entries))
	}
	return s, nil
}

// stateSheet is a line for each thing that is so of a machine, or of all machines.
func (c *call) stateSheet(books []*book, machine string) (*sheet, error) {
	s := &sheet{heading: []string{"machine", "what", "name", "positions", "hand", "value", "unit", "since", "assumed", "entries"}}
	found := false
	for _, b := range books {
		st, err := b.now()
		if err != nil {
			return nil, err
		}
		for _, m := range st.Machines {
			if machine != "" && !strings.EqualFold(m.Name, machine) || machine == "" && m.Sold != "" {
				continue
			}
			found = true
			l, err := lookAt(st, []string{m.Name})
			if err != nil {
				return nil, err
			}
			s.machine(c.viewMachine(st, l))
		}
	}
	if !found && machine != "" {
		st, err := books[0].now()
		if err != nil {
			return nil, err
		}
		_, err = findMachine(st, strings.ToLower(machine))
		return nil, err
	}
	return s, nil
}

// machine adds the lines of one machine.
func (s *sheet) machine(v *wholeJSON) {
	add := func(what, name string, at []string, hand string, value valueCell, since string, assumed bool, from []record.ID) {
		said := ""
		if assumed {
			said = "assumed"
		}
		s.row(text(v.Name), text(what), text(name), places(at), text(hand), value.cell, text(value.unit), text(since), text(said), ids(from))
	}
	for _, x := range v.Counters {
		if x.Known {
			add("counter", x.Counter, nil, "", ofAmount(x.Reading.q), x.ReadOn, false, x.Entries)
		}
	}
	for _, x := range v.Settings {
		if !x.Value.IsZero() {
			add("setting", x.Setting, x.Positions, "", ofValue(x.Value.v), string(x.Since), x.Assumed, x.Entries)
		}
	}
	for _, x := range v.Readings {
		value := x.Left
		if value.IsZero() {
			value = x.Found
		}
		if !value.IsZero() {
			add("reading", x.Reading, x.Positions, x.Hand, ofValue(value.v), string(x.Done), x.Assumed, x.Entries)
		}
	}
	for _, x := range v.Parts {
		for _, u := range x.Use {
			add("use of "+x.Part, u.Counter, x.Positions, x.Hand, valueCell{cell(u.Value), u.Unit}, string(x.Since), x.Assumed, x.Entries)
		}
	}
	for _, x := range v.Jobs {
		if x.Done != "" && !x.Skipped {
			add("job", x.Job, x.Positions, "", valueCell{text(x.Result), ""}, string(x.Done), x.Assumed, x.Entries)
		}
	}
	for _, x := range v.Faults {
		if x.Open {
			add("open fault", x.Severity, x.Positions, "", valueCell{text(x.Text), ""}, string(x.Done), false, []record.ID{x.ID})
		}
	}
}

// valueCell is a value as a cell and its unit.
type valueCell struct {
	cell csvfile.Cell
	unit string
}

func ofAmount(q record.Quantity) valueCell { return valueCell{cell(q.Number()), q.Unit().String()} }

func ofValue(v record.Value) valueCell {
	if q, ok := v.Quantity(); ok {
		return ofAmount(q)
	}
	return valueCell{text(v.Word()), ""}
}

// prepareSheet is the parts to have and the work to do by a day.
func (c *call) prepareSheet(books []*book, machine, before string) (*sheet, error) {
	if before == "" {
		return nil, usage(`shedbook export --csv prepare parts.csv --before "spring 2027"`, "--csv prepare needs --before: the season or day by which it is to be done")
	}
	all, err := c.prepareBooks(books, preparing{before: before, machine: machine})
	if err != nil {
		return nil, err
	}
	p := c.prepareJSON(all)
	s := &sheet{heading: []string{"what", "yard", "machine", "name", "positions", "hand", "count", "on_shelf", "to_buy", "order_by", "minutes", "who", "state", "why", "entries"}}
	for _, n := range p.Parts {
		s.row(text("part"), text(""), text(n.Kind), text(n.Part), text(""), text(n.Hand), number(n.Count), number(n.Shelf), number(n.Buy), text(n.OrderBy), text(""), text(""), text(""), text(""), ids(n.Entries))
	}
	for _, t := range p.Work {
		name := t.Job
		if name == "" {
			name = t.Title
		}
		s.row(text("work"), text(t.Yard), text(t.Machine), text(name), places(t.Positions), text(""), text(""), text(""), text(""), text(""), cell(t.Minutes), text(t.Who), text(t.State), text(t.Why), ids(t.Entries))
	}
	return s, nil
}

func number(n int) csvfile.Cell { return cell(strconv.Itoa(n)) }
