package phone

import (
	"net/url"
	"slices"
	"strings"
)

// Kinds are what a phone records, in the order in which they are offered, beside the jobs of a schedule.
var Kinds = []string{"fault", "repair", "note", "counter", "adjust"}

// severities of a fault, worst first.
var severities = []string{"stop", "soon", "winter", "tidy"}

// actOf reads a form. What fields mean for an entry is the shed's to judge; here they become the words and flags of the command that records the same.
func actOf(f url.Values) (Act, error) {
	a := Act{Kind: f.Get("kind"), Machine: f.Get("machine"), Once: f.Get("once")}
	if a.Once == "" || len(a.Once) > 64 {
		return a, &Refused{Text: "This form has no key.", Next: "Load the page again and send it once more."}
	}
	flag := func(name, value string) {
		if value = strings.TrimSpace(value); value != "" {
			a.Flags = append(a.Flags, "--"+name+"="+value)
		}
	}
	lines := func(name, text string) {
		for _, l := range strings.FieldsFunc(text, func(r rune) bool { return r == '\n' || r == '\r' }) {
			flag(name, l)
		}
	}
	if a.Kind != "strike" {
		flag("done", f.Get("day"))
	}
	if a.Kind != "counter" {
		for _, name := range named(f, "counter.") {
			if v := strings.TrimSpace(f.Get("counter." + name)); v != "" {
				flag("counter", name+"="+v)
			}
		}
	}
	var err error
	switch a.Kind {
	case "did":
		a.What = f.Get("job")
		if err = a.places(f, true); err != nil {
			return a, err
		}
		flag("moved", f.Get("moved"))
		flag("result", f.Get("result"))
		if t := strings.TrimSpace(f.Get("torque")); t != "" {
			flag("torque", t+" "+f.Get("torque-unit"))
		}
		for _, what := range named(f, "fill.") {
			if v := strings.TrimSpace(f.Get("fill." + what)); v != "" {
				flag("fill", what+"="+v)
			}
		}
		flag("outcome", f.Get("outcome"))
		flag("until", f.Get("until"))
		flag("minutes", f.Get("minutes"))
		flag("note", f.Get("note"))
	case "fault":
		err = a.places(f, false)
		a.Text = f.Get("text")
		if s := f.Get("severity"); slices.Contains(severities, s) {
			a.Flags = append(a.Flags, "--"+s+"=true")
		}
		if f.Get("tied-up") != "" {
			flag("tied-up", "true")
		}
		if f.Get("unfit") != "" {
			flag("unfit", "true")
		}
		lines("needs", f.Get("needs"))
	case "repair":
		err = a.places(f, false)
		a.Text = f.Get("text")
		flag("closes", f.Get("closes"))
		if f.Get("temporary") != "" {
			flag("temporary", "true")
		}
		lines("used", f.Get("used"))
		flag("minutes", f.Get("minutes"))
	case "note":
		err = a.places(f, false)
		a.Text = f.Get("text")
	case "counter":
		a.What, a.Value = f.Get("what"), f.Get("value")
		flag("note", f.Get("note"))
	case "adjust":
		err = a.places(f, false)
		a.What, a.Value = f.Get("what"), f.Get("value")
		flag("note", f.Get("note"))
	case "strike":
		a.Entry, a.Text = f.Get("entry"), f.Get("note")
	default:
		return a, ErrNone
	}
	if err == nil && slices.Contains([]string{"fault", "repair", "note"}, a.Kind) && strings.TrimSpace(a.Text) == "" {
		err = &Refused{Text: "Nothing is said.", Next: "Say in your own words what it is."}
	}
	if err == nil && slices.Contains([]string{"counter", "adjust"}, a.Kind) && (strings.TrimSpace(a.Value) == "" || a.What == "") {
		err = &Refused{Text: "No value is said.", Next: "Choose what it is of, and type the value."}
	}
	return a, err
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

// places are all, those due, those ticked, or those written; must: one at least, where there are any.
func (a *Act) places(f url.Values, must bool) error {
	written := strings.Fields(strings.ToLower(f.Get("places")))
	all := f.Get("which") == "all" || f.Get("which") == "due"
	switch {
	case all && (len(written) > 0 || len(f["at"]) > 0):
		return &Refused{Text: "Some places are ticked or written, but not chosen.", Next: "Choose \"only some\", or take the ticks and words away."}
	case len(written) > 0 && len(f["at"]) > 0:
		return &Refused{Text: "Places are both ticked and written: which are meant?", Next: "Take the ticks away, or the words."}
	case len(written) > 0:
		a.Places = written
	case f.Get("which") == "all":
	case f.Get("which") == "due":
		a.Places = strings.Fields(f.Get("due"))
	default:
		a.Places = f["at"]
		if must && f.Has("which") && len(a.Places) == 0 {
			return &Refused{Text: "No place is ticked.", Next: "Tick those where it was done, or choose all."}
		}
	}
	return nil
}
