package demo

import (
	"time"

	"shedbook/ledger"
	"shedbook/rules/record"
)

// The family: Wren Alder (founder, two devices), Juno Alder (owner), Sam Rook and Ash Tarn (workers). A repair shop has no device.
const (
	wren = "wren-laptop"
	tab  = "wren-tablet"
	juno = "juno-laptop"
	sam  = "sam-laptop"
	ash  = "ash-laptop"
)

// day is a farm-local day; the demo's farm keeps UTC.
func day(s string) time.Time {
	t, err := time.Parse("2006-01-02", s)
	if err != nil {
		panic("demo: " + err.Error()) // a constant of this package
	}
	return t
}

// found writes the founding entry and lets the others in: each device asks, Wren admits.
func (t *teller) found() error {
	founder, err := t.device(wren, "shop laptop")
	if err != nil {
		return err
	}
	recovery, err := ledger.NewKey(t.random)
	if err != nil {
		return err
	}
	start := day("2024-02-12").Add(18 * time.Hour)
	e, err := t.sign(founder, ledger.Draft{Class: ledger.Control, Kind: "found",
		Record:  ledger.Found{Title: "Alder and Creekside (made up)", Key: publicKey(founder.key), Recovery: publicKey(recovery)},
		Private: ledger.ControlPrivate{Name: "Wren Alder", Device: founder.Label}}, start)
	if err != nil {
		return err
	}
	t.story.Book = e.ID()
	t.story.Runs = append(t.story.Runs, Run{Log: founder.Writer.String(), Entries: []*ledger.Entry{e}})
	t.ids["Wren"] = idOf(e)
	for i, d := range []struct {
		name, label, person string
		role                ledger.Role
		of                  string // an earlier person's name: one more device
	}{
		{tab, "shop tablet", "Wren Alder", ledger.RoleOwner, "Wren"},
		{juno, "creek yard laptop", "Juno Alder", ledger.RoleOwner, ""},
		{sam, "hill yard laptop", "Sam Rook", ledger.RoleWorker, ""},
		{ash, "Ash's laptop", "Ash Tarn", ledger.RoleWorker, ""},
	} {
		dev, err := t.device(d.name, d.label)
		if err != nil {
			return err
		}
		at := start.Add(time.Duration(i+1) * 10 * time.Minute)
		t.plans(at, d.name, func(*teller) (ledger.Draft, error) {
			return ledger.Draft{Class: ledger.Control, Kind: "request", Record: ledger.Request{Key: publicKey(dev.key)},
				Private: ledger.ControlPrivate{Name: d.person, Device: d.label}}, nil
		}, nil)
		first := d.person[:indexSpace(d.person)]
		t.plans(at.Add(5*time.Minute), wren, func(t *teller) (ledger.Draft, error) {
			a := ledger.Admit{Key: publicKey(dev.key), Role: d.role}
			if d.of != "" {
				id, err := ledger.ParseID(string(t.ids[d.of]))
				if err != nil {
					return ledger.Draft{}, err
				}
				a.Person = id
			}
			return ledger.Draft{Class: ledger.Control, Kind: "admit", Record: a, Private: ledger.ControlPrivate{Name: d.person, Device: d.label}}, nil
		}, func(t *teller, e *ledger.Entry) {
			if d.of == "" {
				t.ids[first] = idOf(e)
			}
		})
	}
	return nil
}

// plans puts an act on the list.
func (t *teller) plans(at time.Time, device string, draft func(*teller) (ledger.Draft, error), then func(*teller, *ledger.Entry)) {
	t.acts = append(t.acts, act{at: at, device: device, draft: draft, then: then})
}

// shared plans a shared entry; its id is kept under name.
func (t *teller) shared(at time.Time, device, name string, build func(*teller) record.Record, p *record.Private) {
	t.plans(at, device, func(t *teller) (ledger.Draft, error) {
		r := build(t)
		d := ledger.Draft{Class: ledger.Shared, Kind: r.Kind(), Record: r}
		if p != nil {
			d.Private = p
		}
		return d, nil
	}, func(t *teller, e *ledger.Entry) { t.ids[name] = idOf(e) })
}

func publicKey(k *ledger.Key) ledger.PublicKey {
	var p ledger.PublicKey
	copy(p[:], k.Public())
	return p
}

func indexSpace(s string) int {
	for i, c := range s {
		if c == ' ' {
			return i
		}
	}
	return len(s)
}
