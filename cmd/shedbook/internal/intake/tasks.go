package intake

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Device is a machine as a task file (ISO 11783-10) describes it: the DVC element.
type Device struct {
	ID, Name, Designator, Serial string // DVC A, D (the network NAME, hex), B, E
	elements                     map[string]string
}

// Total is what one device did in one task: sums, in the units of ISO 11783-11.
type Total struct {
	Task, Designator, Field string
	Device                  *Device
	Until                   time.Time // end of its last recorded time; its zone is the zone the file says, else the one given
	Line                    int
	Area                    int64 // m2
	Seconds                 int64 // effective time, at work
	Millimetres             int64 // effective distance
}

// Sums say how the totals of several recorded times (TIM) of one task belong together: the standard can be read, and is, both ways.
type Sums string

// Ways to read totals.
const (
	Unsaid  Sums = ""        // refuse a file in which it matters
	Running Sums = "running" // each total carries on the one before: the last is the task's
	Each    Sums = "each"    // each total is of its own time: they are added up
)

// Kinds of totals, by their data dictionary identifiers in ISO 11783-11: total area (m2), effective total distance (mm), effective total time (s).
const (
	totalArea     = 0x0074
	totalDistance = 0x0075
	totalTime     = 0x0077
)

// ReadTasks reads a task file, and the files it refers to (XFR) through more. Which attribute letters mean what, and that TIM D="1" is planned work, is from memory of
// ISO 11783-10; the identifiers and their units are those of its data dictionary as public libraries have them. zone holds for times without one.
func ReadTasks(data []byte, sums Sums, zone *time.Location, more func(name string) ([]byte, error)) ([]Total, error) {
	root, err := readXML(data)
	if err != nil {
		return nil, err
	}
	if root.name != "ISO11783_TaskData" {
		return nil, refuse(root.line, "it begins with %q: a task file (ISO 11783-10) begins with ISO11783_TaskData", root.name)
	}
	parts := []*element{root}
	for _, x := range root.all("XFR") {
		name := x.attr["A"]
		if !partName.MatchString(name) || len(parts) > 200 {
			return nil, refuse(x.line, "%q is no name of a part of a task file", name)
		}
		if more == nil {
			return nil, refuse(x.line, "it refers to the file %s.XML: name the folder that holds both", name)
		}
		b, err := more(name + ".XML")
		if err != nil {
			return nil, refuse(x.line, "it refers to %s.XML: %v", name, err)
		}
		part, err := readXML(b)
		if err != nil {
			return nil, refuse(x.line, "%s.XML: %v", name, err)
		}
		parts = append(parts, part)
	}
	r := &taskReader{sums: sums, zone: zone, fields: map[string]string{}, byElement: map[string]*Device{}}
	for _, p := range parts {
		for _, d := range p.all("DVC") {
			if err := r.device(d); err != nil {
				return nil, err
			}
		}
		for _, f := range p.all("PFD") {
			r.fields[f.attr["A"]] = f.attr["C"]
		}
	}
	for _, p := range parts {
		for _, t := range p.all("TSK") {
			if err := r.task(t); err != nil {
				return nil, err
			}
		}
	}
	return r.totals, nil
}

var partName = regexp.MustCompile(`^[A-Z]{3}[0-9]{5}$`)

type taskReader struct {
	sums      Sums
	zone      *time.Location
	fields    map[string]string
	byElement map[string]*Device
	totals    []Total
}

func (r *taskReader) device(e *element) error {
	d := &Device{ID: e.attr["A"], Designator: e.attr["B"], Name: strings.ToUpper(e.attr["D"]), Serial: e.attr["E"], elements: map[string]string{}}
	for _, x := range e.all("DET") {
		id := x.attr["A"]
		if id == "" || r.byElement[id] != nil {
			return refuse(x.line, "the device element %q stands twice, or has no name", id)
		}
		r.byElement[id], d.elements[id] = d, x.attr["C"]
	}
	return nil
}

// series are the totals of one kind that one element of a device gave in a task, in the order of time.
type series struct {
	element string
	kind    int64
	values  []int64
	line    int
}

func (r *taskReader) task(t *element) error {
	type one struct {
		line  int
		start time.Time
		until time.Time
		e     *element
	}
	var times []one
	for _, x := range t.all("TIM") {
		if x.attr["D"] == "1" { // planned, not done
			continue
		}
		o := one{line: x.line, e: x}
		var err error
		if o.start, err = r.when(x, "A"); err != nil {
			return err
		}
		o.until = o.start
		if x.attr["B"] != "" {
			if o.until, err = r.when(x, "B"); err != nil {
				return err
			}
		} else if s, err := strconv.ParseInt(x.attr["C"], 10, 32); err == nil && s >= 0 {
			o.until = o.start.Add(time.Duration(s) * time.Second)
		}
		if o.until.Before(o.start) {
			return refuse(x.line, "it ends at %s, before it begins", x.attr["B"])
		}
		times = append(times, o)
	}
	slices.SortStableFunc(times, func(a, b one) int { return a.start.Compare(b.start) })
	byDevice := map[*Device][]*series{}
	until := map[*Device]time.Time{}
	var order []*Device
	for _, o := range times {
		for _, v := range o.e.all("DLV") {
			kind, err := strconv.ParseInt(v.attr["A"], 16, 32)
			if err != nil {
				return refuse(v.line, "DLV: %q is no data dictionary identifier", v.attr["A"])
			}
			if kind != totalArea && kind != totalDistance && kind != totalTime {
				continue
			}
			d := r.byElement[v.attr["C"]]
			if d == nil {
				return refuse(v.line, "DLV: no device has the element %q", v.attr["C"])
			}
			n, err := strconv.ParseInt(v.attr["B"], 10, 32)
			if err != nil || n < 0 {
				return refuse(v.line, "DLV: %q is no total", v.attr["B"])
			}
			if byDevice[d] == nil {
				order = append(order, d)
			}
			at := slices.IndexFunc(byDevice[d], func(s *series) bool { return s.element == v.attr["C"] && s.kind == kind })
			if at < 0 {
				at = len(byDevice[d])
				byDevice[d] = append(byDevice[d], &series{element: v.attr["C"], kind: kind, line: v.line})
			}
			s := byDevice[d][at]
			s.values, until[d] = append(s.values, n), o.until
		}
	}
	for _, d := range order {
		total := Total{Task: t.attr["A"], Designator: t.attr["B"], Field: r.fields[t.attr["E"]], Device: d, Until: until[d], Line: t.line}
		for _, to := range []struct {
			kind int64
			at   *int64
		}{{totalArea, &total.Area}, {totalTime, &total.Seconds}, {totalDistance, &total.Millimetres}} {
			s, err := d.whole(byDevice[d], to.kind)
			if err != nil {
				return err
			}
			if s == nil {
				continue
			}
			if *to.at, err = s.sum(r.sums, t.attr["B"]); err != nil {
				return err
			}
		}
		if total.Area+total.Seconds+total.Millimetres > 0 {
			r.totals = append(r.totals, total)
		}
	}
	return nil
}

// whole picks the totals of the whole device (DET C="1"); sections of it may count the same ground.
func (d *Device) whole(all []*series, kind int64) (*series, error) {
	var own, any []*series
	for _, s := range all {
		if s.kind != kind {
			continue
		}
		any = append(any, s)
		if d.elements[s.element] == "1" {
			own = append(own, s)
		}
	}
	if len(own) > 0 {
		any = own
	}
	switch len(any) {
	case 0:
		return nil, nil
	case 1:
		return any[0], nil
	}
	return nil, refuse(any[1].line, "two parts of the device %q give the same kind of total, and none is the device as a whole: they cannot be told apart", d.Designator)
}

// sum is what the task came to.
func (s *series) sum(how Sums, task string) (int64, error) {
	var added int64
	for _, v := range s.values {
		added += v
	}
	last := s.values[len(s.values)-1]
	grows := slices.IsSorted(s.values)
	switch {
	case how == Each, how == Unsaid && !grows, added == last:
		return added, nil
	case how == Running && !grows:
		return 0, refuse(s.line, "the totals of the task %q go back, so none carries on the one before", task)
	case how == Running:
		return last, nil
	}
	return 0, refuse(s.line, "the task %q has %d totals, from %d to %d: whether each carries on the one before cannot be seen", task, len(s.values), s.values[0], last)
}

func (r *taskReader) when(e *element, name string) (time.Time, error) {
	s := e.attr[name]
	if t, err := time.Parse(time.RFC3339, s); err == nil {
		return t, nil
	}
	t, err := time.ParseInLocation("2006-01-02T15:04:05", s, r.zone)
	if err != nil {
		return t, refuse(e.line, "TIM: %q is no time", s)
	}
	return t, nil
}
