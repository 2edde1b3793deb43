package phone

import (
	"net/url"
	"slices"
	"strings"
)

// Kinds are what a phone records, in the order in which they are offered, beside the jobs of a schedule.
var Kinds = []string{"fault", "repair", "note", "counter", "adjust", "swap", "hitch", "store", "move"}

// severities of a fault, worst first.
var severities = []string{"stop", "soon", "winter", "tidy"}

// actOf reads a form. What fields mean for an entry is the shed's to judge; here they become the words and flags of the command that records the same.
func actOf(f url.Values) (Act, error) {
	a := Act{Kind: f.Get("kind"), Machine: f.Get("machine"), Once: f.Get("once")}
	if a.Once == "" || len(a.Once) > 64 {
		return a, &Refused{Text: "This form has no key.", Next: "Load the page again and send it once more."}
	}
	if a.Kind == "correct" {
		return a.correction(f)
	}
	if err := a.says(f, a.Kind); err != nil {
		return a, err
	}
	return a, a.enough()
}

// flag adds a flag, unless nothing is said.
func (a *Act) flag(name, value string) {
	if value = strings.TrimSpace(value); value != "" {
		a.Flags = append(a.Flags, "--"+name+"="+value)
	}
}

// flags adds a flag for each of the fields, as far as they say something.
func (a *Act) flags(f url.Values, names ...string) {
	for _, name := range names {
		a.flag(name, f.Get(name))
	}
}

// lines adds a flag for each line of a field.
func (a *Act) lines(f url.Values, name string) {
	for _, l := range strings.FieldsFunc(f.Get(name), func(r rune) bool { return r == '\n' || r == '\r' }) {
		a.flag(name, l)
	}
}

// boxes adds a flag for each box that is ticked.
func (a *Act) boxes(f url.Values, names ...string) {
	for _, name := range names {
		if f.Get(name) != "" {
			a.flag(name, "true")
		}
	}
}

// says reads what the fields of a kind say.
func (a *Act) says(f url.Values, kind string) error {
	if kind != "strike" {
		a.flag("done", f.Get("day"))
	}
	if kind != "counter" {
		for _, name := range named(f, "counter.") {
			if v := strings.TrimSpace(f.Get("counter." + name)); v != "" {
				a.flag("counter", name+"="+v)
			}
		}
	}
	var err error
	switch kind {
	case "did":
		a.What = f.Get("job")
		err = a.places(f, true)
		a.flags(f, "moved", "result")
		if t := strings.TrimSpace(f.Get("torque")); t != "" {
			a.flag("torque", t+" "+f.Get("torque-unit"))
		}
		for _, what := range named(f, "fill.") {
			if v := strings.TrimSpace(f.Get("fill." + what)); v != "" {
				a.flag("fill", what+"="+v)
			}
		}
		a.flags(f, "outcome", "until", "minutes", "note")
	case "fault":
		err = a.places(f, false)
		a.Text = f.Get("text")
		if s := f.Get("severity"); slices.Contains(severities, s) {
			a.flag(s, "true")
		}
		a.boxes(f, "tied-up", "unfit")
		a.lines(f, "needs")
	case "repair":
		err = a.places(f, false)
		a.Text = f.Get("text")
		a.flags(f, "closes")
		a.boxes(f, "temporary")
		a.lines(f, "used")
		a.flags(f, "minutes")
	case "note":
		err = a.places(f, false)
		a.Text = f.Get("text")
	case "counter":
		a.counted(f)
	case "adjust":
		err = a.places(f, false)
		a.What, a.Value = f.Get("what"), f.Get("value")
		a.flags(f, "note")
	case "measure": // a correction; a round is signed on its own page
		err = a.places(f, false)
		a.Value = f.Get("value")
		a.flags(f, "note")
	case "swap":
		err = a.swapped(f)
	case "hitch", "move":
		a.What = f.Get("what")
		a.flags(f, "note")
	case "store":
		a.stored(f)
	case "season":
		a.What, a.Value = f.Get("what"), strings.TrimSpace(f.Get("value"))
		if other := strings.TrimSpace(f.Get("other")); other != "" {
			a.Value = other
		}
		a.flags(f, "work", "note")
	case "strike":
		a.Entry, a.Text = f.Get("entry"), f.Get("note")
	default:
		return ErrNone
	}
	return err
}

// counted reads what happened to a counter. Set back or replaced, what it shows is where it starts again.
func (a *Act) counted(f url.Values) {
	a.What, a.Value = f.Get("what"), strings.TrimSpace(f.Get("value"))
	switch act := f.Get("act"); act {
	case "add":
		if a.Value != "" {
			a.Value = "+" + strings.TrimPrefix(a.Value, "+")
		}
	case "reset", "replaced":
		a.flag("start", a.Value)
		a.Value = act
	}
	a.flags(f, "last", "note")
}

// swapActs are what can become of a part besides being replaced by a new one, each a flag of the command.
var swapActs = []string{"out", "turned", "sharpened", "rebuilt"}

func (a *Act) swapped(f url.Values) error {
	a.What = f.Get("what")
	if err := a.places(f, f.Get("placed") != ""); err != nil {
		return err
	}
	switch act := f.Get("act"); {
	case slices.Contains(swapActs, act):
		a.flag(act, "true")
	case act == "exchange":
		if strings.TrimSpace(f.Get("with")) == "" {
			return &Refused{Text: "With which place was it exchanged?", Next: "Write that place, for instance 30."}
		}
		a.flags(f, "with")
	case act == "used":
		if strings.TrimSpace(f.Get("in")) == "" {
			return &Refused{Text: "Where did the used part come from?", Next: "Write shelf, or the machine and the place: drill:12."}
		}
		a.flags(f, "in")
	}
	a.flags(f, "why", "hand")
	a.boxes(f, "from-shelf", "to-shelf")
	a.lines(f, "serial")
	a.flags(f, "used", "minutes", "note")
	return nil
}

func (a *Act) stored(f url.Values) {
	a.boxes(f, "out")
	a.lines(f, "slack")
	for _, what := range f["put-back"] {
		a.flag("put-back", what)
	}
	a.flags(f, "note")
}

// correction reads what is put right in an entry: the fields of its kind, where nothing said leaves it as it stands.
func (a Act) correction(f url.Values) (Act, error) {
	a.Entry = f.Get("entry")
	if err := a.says(f, f.Get("as")); err != nil {
		return a, err
	}
	a.What = ""
	if out := strings.Fields(strings.ToLower(f.Get("but"))); len(out) > 0 {
		a.Places = append(append(a.Places, "but"), out...)
	}
	if m := f.Get("other-machine"); m != "" {
		a.What = m
	}
	return a, nil
}

// enough refuses what says nothing.
func (a *Act) enough() error {
	none := func(text, next string) error { return &Refused{Text: text, Next: next} }
	value := strings.TrimSpace(a.Value)
	switch a.Kind {
	case "fault", "repair", "note":
		if strings.TrimSpace(a.Text) == "" {
			return none("Nothing is said.", "Say in your own words what it is.")
		}
	case "counter", "adjust":
		if value == "" || a.What == "" {
			return none("No value is said.", "Choose what it is of, and type the value.")
		}
	case "swap":
		if a.What == "" {
			return none("No part is named.", "Choose the part.")
		}
	case "hitch", "move":
		if a.What == "" {
			return none("Nothing is chosen.", "Choose one of the list.")
		}
	case "season":
		if value == "" {
			return none("No season is named.", "Choose one, or write its name.")
		}
	}
	return nil
}

// named are the rest of the names of fields that begin alike, sorted.
func named(f url.Values, start string) []string {
	var out []string
	for name := range f {
		if rest, ok := strings.CutPrefix(name, start); ok && rest != "" {
			out = append(out, rest)
		}
	}
	slices.Sort(out)
	return out
}

// places are all, those due, those ticked or in ranges, or those written; must: one at least, where there are any.
func (a *Act) places(f url.Values, must bool) error {
	written := strings.Fields(strings.ToLower(f.Get("places")))
	all := f.Get("which") == "all" || f.Get("which") == "due"
	picked, err := ranges(f)
	if err != nil {
		return err
	}
	for _, p := range f["at"] {
		if !slices.Contains(picked, p) {
			picked = append(picked, p)
		}
	}
	switch {
	case all && len(written)+len(picked) > 0:
		return &Refused{Text: "Some places are ticked or written, but not chosen.", Next: "Choose \"only some\", or take the ticks and words away."}
	case len(written) > 0 && len(picked) > 0:
		return &Refused{Text: "Places are both ticked and written: which are meant?", Next: "Take the ticks away, or the words."}
	case len(written) > 0:
		a.Places = written
	case f.Get("which") == "all":
	case f.Get("which") == "due":
		a.Places = strings.Fields(f.Get("due"))
	default:
		a.Places = picked
		if must && (f.Has("which") || f.Has("placed")) && len(a.Places) == 0 {
			return &Refused{Text: "No place is ticked.", Next: "Tick those where it was done, or choose all."}
		}
	}
	return nil
}

// ranges are the places of each row from the one that was tapped first to the one tapped last, whichever stands further left. The shed judges them as it does
// what is typed.
func ranges(f url.Values) (out []string, err error) {
	for _, row := range named(f, "from.") {
		first, last := f.Get("from."+row), f.Get("to."+row)
		if first == "" {
			continue
		}
		places := strings.Fields(f.Get("row." + row))
		i, j := slices.Index(places, first), slices.Index(places, last)
		if i < 0 || j < 0 {
			return nil, &Refused{Text: "A range has its first place only.", Next: "Tap its last place too, or choose no range there."}
		}
		out = append(out, places[min(i, j):max(i, j)+1]...)
	}
	return out, nil
}
