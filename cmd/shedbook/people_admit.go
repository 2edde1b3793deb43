package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
)

// admission is what an owner says about a device that asks.
type admission struct {
	role   string
	person string // of somebody the book knows: one more device
	name   string // instead of the one the request gives
	device string
}

func peopleAdmitCommand() *command {
	var a admission
	return &command{
		name: "people admit", section: "the book", brief: "let a device that asks take part", writes: true,
		usage: []string{"people admit DEVICE|NAME|SIX WORDS [--role worker|owner] [--person NAME]"},
		examples: []string{
			`people admit "creek laptop"`, "people admit jacket lemon barn tulip otter seven", `people admit "Jo Alder" --role owner`,
			`people admit "shop phone" --person "Wren Alder"`,
		},
		about: `A device that joined the book asks to take part; people list shows it. Have its owner read the six words to you, on the phone or in person, and ` +
			`compare: if they are the same on both sides, it is their device and nobody else's. Typing the six words is that comparison.

What the device wrote before counts too, from now on. A worker records work; an owner also adds farms, yards and machines, changes schedules, and admits and stops others. ` +
			`A device's role is for life.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&a.role, "role", string(ledger.RoleWorker), "`role`: worker or owner")
			fs.StringVar(&a.person, "person", "", "one more device of this `person`, who is in the book already")
			fs.StringVar(&a.name, "name", "", "the person's `name`, if not the one the request gives")
			fs.StringVar(&a.device, "device", "", "what to `call` the device, if not as the request does")
		},
		run: func(c *call) error {
			text := strings.Join(c.args, " ")
			if strings.TrimSpace(text) == "" {
				return usage("shedbook people list shows who asks", "people admit takes a device that asks, by its name or its six words")
			}
			if a.role != string(ledger.RoleWorker) && a.role != string(ledger.RoleOwner) {
				return usage("write --role worker or --role owner", "--role %q is none of worker, owner", a.role)
			}
			if a.person != "" && a.name != "" {
				return usage("leave one out", "--person and --name: --person takes somebody the book knows, --name somebody new")
			}
			return c.write(func(w *writing) error { return w.admit(text, a) })
		},
	}
}

// admit takes a device that asks into the book.
func (w *writing) admit(text string, a admission) error {
	if err := w.leads("admits devices"); err != nil {
		return err
	}
	d, compared, err := w.request(text)
	if err != nil {
		return err
	}
	name := d.Name
	if a.name != "" {
		name = a.name
	}
	person, known, err := w.personOf(a, name)
	if err != nil {
		return err
	}
	if known != "" {
		name = known
	}
	if a.device != "" {
		d.Label = a.device
	}
	d.Name = name
	if !compared {
		if err := w.c.compare(d); err != nil {
			return err
		}
	}
	e, err := w.act(ledger.Draft{Kind: ledger.KindAdmit, Record: ledger.Admit{Key: d.Key, Role: ledger.Role(a.role), Person: person},
		Private: ledger.ControlPrivate{Name: name, Device: d.Label}})
	if err != nil {
		return err
	}
	w.then(func() error {
		now, _ := w.judged.Device(d.Writer)
		notes := []string{fmt.Sprintf("its %s too; shedbook sync tells the others", does(entryCount(counted(w.book, d.Writer))+" from before", counted(w.book, d.Writer), "counts", "count"))}
		return w.c.controlled(controlled{e, fmt.Sprintf("admitted %s as %s", deviceName(now), article(a.role)), notes})
	})
	return nil
}

// request finds the one device that asks and is meant, and reports whether the text was all six words of its key.
func (w *writing) request(text string) (d ledger.Device, compared bool, err error) {
	asks := func(d ledger.Device) bool { return d.Pending && !d.Stopped && !d.Key.IsZero() }
	found := w.devicesNamed(text, asks)
	switch {
	case len(found) == 1:
		return found[0], wordsOf(text) == sixWords(found[0].Key), nil
	case len(found) > 1:
		return d, false, failed("ambiguous", "name one by its six words, see shedbook people list", "%d devices that ask are called %q: %s", len(found), text, deviceList(found))
	}
	if known := w.devicesNamed(text, func(d ledger.Device) bool { return !d.Pending }); len(known) > 0 {
		if known[0].Stopped {
			return d, false, failed("stopped", "its person starts a new key there: shedbook people key --new", "%s was stopped: a stopped key never returns", deviceName(known[0]))
		}
		return d, false, failed("exists", "", "%s takes part already", deviceName(known[0]))
	}
	if away := w.devicesNamed(text, func(d ledger.Device) bool { return d.Pending && d.Stopped }); len(away) > 0 {
		return d, false, failed("stopped", "its person starts a new key there: shedbook people key --new", "%s was turned away: a stopped key never returns", deviceName(away[0]))
	}
	var waiting []ledger.Device
	for _, d := range w.judged.Devices() {
		if asks(d) {
			waiting = append(waiting, d)
		}
	}
	switch first := calledByFirst(waiting, text); {
	case len(first) == 1:
		return first[0], false, nil
	case len(first) > 1:
		return d, false, failed("ambiguous", "name one by its six words, see shedbook people list", "%d people who ask are called %q: %s", len(first), text, deviceList(first))
	}
	typed := strings.Fields(wordsOf(text))
	for _, d := range waiting {
		if heard, written, ok := oneWordOff(typed, ledger.Words(d.Key)); ok {
			return d, false, failed("other-words", "have all six read again; if one stays different it is another device: do not admit it",
				"five of the six words are those of %s, but you typed %q where its key says %q", deviceName(d), heard, written)
		}
	}
	if len(waiting) == 0 {
		return d, false, failed("no-request", "on the other device: shedbook join, or shedbook sync there and then here", "no device asks to take part")
	}
	return d, false, failed("no-request", "shedbook people list shows six words of each; if it is not among them, shedbook sync there and then here",
		"no device that asks is %q%s; these ask: %s", text, didYouMean(text, w.deviceWords(asks)), deviceList(waiting))
}

// calledByFirst are the devices whose person has this word for a name: "Juno" for Juno Alder.
func calledByFirst(all []ledger.Device, word string) []ledger.Device {
	var out []ledger.Device
	for _, d := range all {
		if slices.ContainsFunc(strings.Fields(d.Name), func(part string) bool { return strings.EqualFold(part, strings.TrimSpace(word)) }) {
			out = append(out, d)
		}
	}
	return out
}

// oneWordOff reports the one pair of words in which two lists of six differ.
func oneWordOff(typed, words []string) (heard, written string, ok bool) {
	if len(typed) != len(words) {
		return "", "", false
	}
	for i := range words {
		if typed[i] == words[i] {
			continue
		}
		if ok {
			return "", "", false
		}
		heard, written, ok = typed[i], words[i], true
	}
	return heard, written, ok
}

// personOf says whose the device is: a new person (zero), or one the book has, with the name it has there.
func (w *writing) personOf(a admission, name string) (id ledger.ID, known string, err error) {
	st, err := w.state(w.c.today(), "")
	if err != nil {
		return id, "", err
	}
	if a.person != "" {
		p := st.Person(a.person)
		if p == nil {
			var names []string
			for _, p := range st.People {
				names = append(names, p.Name)
			}
			return id, "", failed("unknown-person", "leave --person out for somebody new", "the book knows nobody called %q%s", a.person, didYouMean(a.person, names))
		}
		id, err = ledger.ParseID(string(p.ID))
		return id, p.Name, err
	}
	if strings.TrimSpace(name) == "" {
		return id, "", usage(`add --name "Jo Alder"`, "whose device is it? the request gives no name")
	}
	if p := st.Person(name); p != nil {
		return id, "", failed("same-name", fmt.Sprintf("add --person %q; if it is somebody else of that name, --name %q", p.Name, p.Name+" junior"),
			"the book has a %s: is this one more device of the same person?", p.Name)
	}
	return id, "", nil
}

// compare shows the six words and takes the owner's word that they are the same on the other side.
func (c *call) compare(d ledger.Device) error {
	if c.yes {
		return nil
	}
	what := fmt.Sprintf("%s asks to take part. Its six words:\n\n    %s\n\n", sentenceCase(deviceName(d)), sixWords(d.Key))
	if !c.asks {
		return failed("not-compared", "call and compare; then type the six words instead of the name, or say the same again with --yes",
			"nobody has compared the six words of %s: %s; nothing was recorded", deviceName(d), sixWords(d.Key))
	}
	answer, err := c.ask(what + "Call, and have them read the words that shedbook people key shows there.\nAre they the same? [y/N]")
	if err == nil && yes(answer) {
		return nil
	}
	return failed("not-compared", "if the words differ it is another device: do not admit it", "nothing was recorded: %s is not admitted", deviceName(d))
}

func yes(answer string) bool {
	answer = strings.ToLower(strings.TrimSpace(answer))
	return answer == "y" || answer == "yes"
}

// leads refuses what only an owner's device may do about people. It would have no effect.
func (w *writing) leads(does string) error {
	d, _ := w.judged.Device(w.writer)
	if !leads(d) || d.Stopped {
		hint := "ask an owner to do it"
		if len(w.owners()) == 0 {
			hint = "no owner's key is left: shedbook people recover takes the recovery key from its paper"
		}
		return failed("no-right", hint, "only an owner %s; this device is %s", does, standing(d))
	}
	return nil
}

// owners are the devices that can admit and stop, but for the recovery key.
func (b *book) owners() []ledger.Device {
	var out []ledger.Device
	for _, d := range b.judged.Devices() {
		if d.Role == ledger.RoleOwner && !d.Stopped {
			out = append(out, d)
		}
	}
	return out
}

func standing(d ledger.Device) string {
	switch {
	case d.Stopped:
		return "stopped"
	case d.Pending:
		return "not admitted yet"
	case d.Role == ledger.RoleWorker:
		return "a worker's"
	}
	return "no owner's"
}

// act signs a control entry and makes sure that it has effect before anything is stored.
func (w *writing) act(d ledger.Draft) (*ledger.Entry, error) {
	d.Class = ledger.Control
	e, err := w.sign(d)
	if err != nil {
		return nil, err
	}
	for _, f := range w.judged.Findings() {
		if f.Entry == e.ID() && f.Code == ledger.CodeNoEffect {
			return nil, failed("no-effect", "", "nothing was recorded, for it would have no effect: %s", f.Message)
		}
	}
	return e, nil
}

// controlled is the answer to a control entry. Such entries can be neither corrected nor taken back.
type controlled struct {
	e     *ledger.Entry
	words string
	notes []string
}

func (c *call) controlled(all ...controlled) error {
	out := replyJSON{Format: 1, DryRun: c.dryRun, Recorded: []repliedJSON{}, Next: []nextJSON{}}
	for _, x := range all {
		r := repliedJSON{ID: x.e.ID().String(), Kind: x.e.Kind(), Words: x.words, Record: x.e.Record()}
		line := fmt.Sprintf("recorded: %s [%s]", x.words, x.e.ID().Short())
		if c.dryRun {
			r.ID, line = "", "would record: "+x.words
		}
		out.Recorded = append(out.Recorded, r)
		out.Notes = append(out.Notes, x.notes...)
		if c.json {
			continue
		}
		c.printf("%s\n", table.Wrap(table.Clean(line), c.columns(), "    "))
		for _, n := range x.notes {
			c.printf("%s\n", table.Wrap("  "+table.Clean(n), c.columns(), "    "))
		}
	}
	if c.json {
		return c.printJSON(out)
	}
	return nil
}

// counted is how many entries of a log count.
func counted(b *book, w ledger.Writer) int {
	n := 0
	for _, e := range b.log.Entries() {
		if e.Writer() == w && b.judged.Status(e) == ledger.Counts {
			n++
		}
	}
	return n
}

// entryCount is "1 entry", "14 entries".
func entryCount(n int) string {
	if n == 1 {
		return "1 entry"
	}
	return fmt.Sprintf("%d entries", n)
}

// does puts the verb in its form: "1 entry counts", "2 entries count".
func does(what string, n int, one, several string) string {
	if n == 1 {
		return what + " " + one
	}
	return what + " " + several
}

func article(role string) string {
	if role == string(ledger.RoleOwner) {
		return "an owner"
	}
	return "a " + role
}

func sentenceCase(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
