package rules

import (
	"math/big"
	"slices"
	"strconv"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// valueOf is a reading as it was left, else as it was found.
func valueOf(r *Reading) record.Value {
	if !r.Left.IsZero() {
		return r.Left
	}
	return r.Found
}

// valued are the readings of a slot that have a value, in order of effect.
func (j *judge) valued(reading, slot string) []*Reading {
	return slices.DeleteFunc(slices.Clone(j.m.Readings[reading][slot]), func(r *Reading) bool { return valueOf(r).IsZero() })
}

// current are the readings that speak of what is at a place now, oldest first. Where the reading is the size of a part whose whereabouts are known they
// are that part's own, wherever it was measured, since it was last turned, sharpened or rebuilt.
func (j *judge) current(def *schedule.Reading, q record.Position, hand string) []*Reading {
	key := def.Name + " " + SlotName(q, hand)
	list, ok := j.readings[key]
	if !ok {
		list = j.find(def, q, hand)
		j.readings[key] = list
	}
	return list
}

func (j *judge) find(def *schedule.Reading, q record.Position, hand string) []*Reading {
	here := j.valued(def.Name, SlotName(q, hand))
	slot := j.slot(def.Part, q, hand)
	switch {
	case def.Part == "" || slot == nil:
		return here
	case slot.Part == nil && !slot.Unknown:
		return nil // nothing there to measure
	case slot.Part == nil || slot.Disputed || slot.Part.Disputed:
		return here
	}
	own := slices.Clone(j.ofPart(def.Name)[slot.Part.ID])
	for _, r := range here {
		if r.Part == "" && r.Done.Compare(slot.Since) >= 0 { // taken while nobody could say which part sat there
			own = append(own, r)
		}
	}
	own = slices.DeleteFunc(own, func(r *Reading) bool { return r.Segment < slot.Part.Segment })
	slices.SortStableFunc(own, func(a, b *Reading) int { return j.compare(a.Done, a.Entry, b.Done, b.Entry) })
	return own
}

// ofPart are the readings with a value of each part, on whichever machine they were taken; they are only read.
func (h *history) ofPart(reading string) map[string][]*Reading {
	h.parting.Lock()
	defer h.parting.Unlock()
	if found, ok := h.byPart[reading]; ok {
		return found
	}
	found := map[string][]*Reading{}
	for _, m := range h.machines {
		slots := make([]string, 0, len(m.Readings[reading]))
		for slot := range m.Readings[reading] {
			slots = append(slots, slot)
		}
		slices.Sort(slots)
		for _, slot := range slots {
			for _, r := range m.Readings[reading][slot] {
				if r.Part != "" && !valueOf(r).IsZero() {
					found[r.Part] = append(found[r.Part], r)
				}
			}
		}
	}
	h.byPart[reading] = found
	return found
}

// slot is where a part sits at a place: of that hand, or of no hand where the part has none.
func (j *judge) slot(part string, q record.Position, hand string) *Slot {
	def, _ := j.m.Fitted.Part(part)
	if s := j.m.Slots[part][SlotName(seat(def, q), hand)]; s != nil {
		return s
	}
	return j.m.Slots[part][SlotName(seat(def, q), "")]
}

// beyond is a reading past its limit, or the two of one place.
type beyond struct {
	at   record.Position
	hand string // of the reading (the first of two); "" where it has none
	r    *Reading
	why  string // "5 1/16 in is past the limit 5 in"

	found []record.Value // as judged, one for each hand
	bound schedule.Bound // zero: none, or not the same for both hands
}

// pastLimit are the last readings past their limit, place by place and hand by hand.
func (j *judge) pastLimit(def *schedule.Reading) []beyond {
	found, ok := j.past[def.Name]
	if ok {
		return found
	}
	for _, q := range j.readingPlaces(def) {
		for _, hand := range j.hands(q.Noun) {
			list := j.current(def, q, hand)
			if len(list) == 0 {
				continue
			}
			r := list[len(list)-1]
			against := schedule.Against{Median: j.median(def, q, hand, r)}
			if len(list) > 1 {
				against.Last = atRated(def, list[len(list)-2])
			}
			if s := j.slot(def.Part, q, hand); !def.HasNew && s != nil && s.Part != nil && s.Part.In.Date() == list[0].Done.Date() {
				against.New = atRated(def, list[0])
			}
			past, why := def.Past(atRated(def, r), against)
			why += takenTo(def, r)
			if hand != "" {
				why = hand + " " + why
			}
			if past {
				bound, _ := def.Bound(atRated(def, r), against)
				found = append(found, beyond{q, hand, r, why, []record.Value{atRated(def, r)}, bound})
			}
		}
	}
	j.past[def.Name] = found
	return found
}

// takenTo says that a reading was taken to its rated condition: " (0.38 gal/min as read)".
func takenTo(def *schedule.Reading, r *Reading) string {
	if v := valueOf(r); atRated(def, r) != v {
		return " (" + v.String() + " as read)"
	}
	return ""
}

// beyondAll are the places past a reading's limit, but for readings that were answered. Of two hands past it both are said, and it is so since the
// first of the two.
func (j *judge) beyondAll(def *schedule.Reading, answered func(*Reading) bool) []beyond {
	var all []beyond
	for _, b := range j.pastLimit(def) {
		if answered != nil && answered(b.r) {
			continue
		}
		n := len(all) - 1
		if n < 0 || all[n].at != b.at {
			all = append(all, b)
			continue
		}
		all[n].why += "; " + b.why
		all[n].found = append(slices.Clip(all[n].found), b.found...)
		all[n].bound = sameBound(all[n].bound, b.bound)
		if j.earlier(b.r.Done, b.r.Entry, all[n].r.Done, all[n].r.Entry) {
			all[n].r = b.r
		}
	}
	return all
}

// sameBound is what two bounds have in common.
func sameBound(a, b schedule.Bound) schedule.Bound {
	if a.What == b.What && a.At == b.At {
		return a
	}
	return schedule.Bound{}
}

// median is the middle of the other places' readings of the same day and hand; absent with fewer than two of them, for of two that differ nobody knows
// which is off.
func (j *judge) median(def *schedule.Reading, q record.Position, hand string, r *Reading) record.Value {
	if def.Limit == nil || !def.Limit.HasNeighbours {
		return record.Value{}
	}
	var others []quantity.Quantity
	for _, p := range j.readingPlaces(def) {
		list := j.current(def, p, hand)
		if p == q || len(list) == 0 || list[len(list)-1].Done.Date() != r.Done.Date() {
			continue
		}
		if v, ok := atRated(def, list[len(list)-1]).Quantity(); ok {
			others = append(others, v)
		}
	}
	n := len(others)
	if n < 2 {
		return record.Value{}
	}
	slices.SortStableFunc(others, func(a, b quantity.Quantity) int { c, _ := a.Cmp(b); return c })
	mid := others[n/2]
	if n%2 == 0 {
		mid = plus(others[n/2-1], others[n/2]).Mul(big.NewRat(1, 2), 9)
	}
	return record.Amount(mid)
}

// readingPlaces are the places a reading is taken at; those out of use are left out.
func (j *judge) readingPlaces(def *schedule.Reading) []record.Position {
	if def.Of == "" {
		return []record.Position{{}}
	}
	return slices.DeleteFunc(j.m.Fitted.All(def.Of).All(), func(p record.Position) bool { return j.m.Out[p.String()] != nil })
}

// pastReading judges readings past their limit. A doing of the job after the reading answers it, until it is measured again; a measurement by itself does not.
func (j *judge) pastReading(job *schedule.Job, p record.Position, t *schedule.Trigger) []verdict {
	def, ok := j.m.Fitted.Reading(t.Past)
	if !ok {
		return nil
	}
	all := j.beyondAll(def, func(r *Reading) bool { return j.answered(job, p, r) })
	here := all
	if def.Of != "" && def.Of == p.Noun {
		here = slices.DeleteFunc(slices.Clone(all), func(b beyond) bool { return b.at != p })
	}
	k, of := t.K, t.Of
	if k == 0 && def.Limit != nil {
		k, of = def.Limit.K, def.Limit.Of
	}
	set := j.wholeSet(def, all, k, of)
	if set {
		here = all
	}
	if len(here) == 0 {
		return nil
	}
	worst := here[0]
	for _, b := range here[1:] {
		if j.earlier(b.r.Done, b.r.Entry, worst.r.Done, worst.r.Entry) {
			worst = b
		}
	}
	v := j.reachDate(t, worst.r.Done.Day(), 1, ByLimit, "", nil)
	v.bound = here[0].bound
	for _, b := range here {
		v.entries = append(v.entries, b.r.Entry)
		v.found, v.bound = append(v.found, b.found...), sameBound(v.bound, b.bound)
	}
	name := readingTitle(def)
	switch {
	case set:
		v.brief = strconv.Itoa(len(all)) + " of " + strconv.Itoa(len(j.readingPlaces(def))) + " past their limit"
		v.why = strconv.Itoa(len(all)) + " of " + strconv.Itoa(len(j.readingPlaces(def))) + " are past the limit of " + name + " (" + j.where(all, def) +
			"); with " + strconv.Itoa(k)
		if of > 0 {
			v.why += " of any " + strconv.Itoa(of) + " in a row"
		}
		v.why += " the whole set is due"
	case len(here) == 1:
		v.why = name + " measured " + worst.r.Done.Date() + ": " + worst.why
		if p.Noun != def.Of {
			v.why = j.where(here, def) + ": " + v.why
		}
	default:
		v.why = name + " is past its limit at " + j.where(here, def) + "; first " + worst.r.Done.Date() + ": " + worst.why
	}
	return []verdict{v}
}

// wholeSet reports k places past the limit among any of in a row (among all where of is 0): then the whole set is due.
func (j *judge) wholeSet(def *schedule.Reading, all []beyond, k, of int) bool {
	if k < 2 || len(all) < k {
		return false
	}
	if of == 0 {
		return true
	}
	var at []int // where in the row those past the limit stand
	for n, q := range j.readingPlaces(def) {
		if slices.ContainsFunc(all, func(b beyond) bool { return b.at == q }) {
			at = append(at, n)
		}
	}
	for n := k - 1; n < len(at); n++ {
		if at[n]-at[n-k+1] < of {
			return true
		}
	}
	return false
}

// where names the places of readings past their limit.
func (j *judge) where(all []beyond, def *schedule.Reading) string {
	var places []record.Position
	for _, b := range all {
		places = append(places, b.at)
	}
	return j.m.Fitted.Describe(record.NewPositions(places...), def.Of)
}

// answered reports a doing of the job after a reading.
func (j *judge) answered(job *schedule.Job, p record.Position, r *Reading) bool {
	all := j.doings(job.Name, p)
	for i := len(all) - 1; i >= 0 && all[i].Done.Date() >= r.Done.Date(); i-- {
		d := all[i]
		if !d.Skipped && d.Via != "measure" && d.Entry != r.Entry && d.Outcome != "fail" && j.earlier(r.Done, r.Entry, d.Done, d.Entry) {
			return true
		}
	}
	return false
}

func readingTitle(def *schedule.Reading) string {
	if def.Title == "" {
		return def.Name
	}
	return def.Title
}
