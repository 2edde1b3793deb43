package rules

import (
	"cmp"
	"slices"

	"shedbook/rules/record"
	"shedbook/rules/stats"
)

// LifePlaces is how often places had their part replaced, whatever the reason.
type LifePlaces struct {
	Places   int // that were watched
	Replaced int // how often, all together
	Mean     []stats.Recurrence
	Most     int // how often the place with the most
	MostAt   string
	MostOn   ID // its machine
	Entries  []ID
}

// placeStay is one part's stay in a place.
type placeStay struct {
	from     record.Done
	use      float64
	replaced bool
	end      ID
}

// places counts replacements place by place, against what each place did since the book began. A part that only moved elsewhere was not replaced.
func (l *PartLife) places(s *State, whole map[ID]bool) {
	type place struct {
		machine ID
		slot    string
	}
	stays := map[place][]placeStay{}
	disputed := map[place]bool{}
	for _, p := range s.Parts {
		if p.Kind != l.Ask.Part || p.Schedule != l.Ask.Kind {
			continue
		}
		for i, st := range p.Stays {
			if l.Ask.Machine != nil && st.Machine != l.Ask.Machine.ID {
				continue
			}
			at := place{st.Machine, st.Slot}
			use, _ := lifeAmount(st.Use[l.Ask.Counter], l.Ask.Unit)
			gone := i == len(p.Stays)-1 && st.To != "" && endOf(p, whole) != EndOff
			stays[at] = append(stays[at], placeStay{st.From, max(0, use), gone, st.End})
			disputed[at] = disputed[at] || p.Disputed
		}
	}
	var all []place
	for at := range stays {
		if !disputed[at] {
			all = append(all, at)
		}
	}
	slices.SortFunc(all, func(a, b place) int { return cmp.Or(cmp.Compare(a.machine, b.machine), cmp.Compare(a.slot, b.slot)) })
	var watches []stats.Watch
	for _, at := range all {
		list := stays[at]
		slices.SortStableFunc(list, func(a, b placeStay) int {
			return cmp.Or(-compareBools(a.from == "", b.from == ""), a.from.Compare(b.from)) // who was there from the beginning came first
		})
		var w stats.Watch
		for _, st := range list {
			w.End += st.use
			if st.replaced {
				w.Replaced = append(w.Replaced, w.End)
				l.Places.Entries = append(l.Places.Entries, st.end)
			}
		}
		watches = append(watches, w)
		l.Places.Replaced += len(w.Replaced)
		if len(w.Replaced) > l.Places.Most {
			l.Places.Most, l.Places.MostAt, l.Places.MostOn = len(w.Replaced), at.slot, at.machine
		}
	}
	l.Places.Places = len(watches)
	l.Places.Entries = onceEach(l.Places.Entries)
	if mean, err := stats.MeanCumulative(watches); err == nil {
		l.Places.Mean = mean
	}
}
