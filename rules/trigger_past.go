package rules

import (
	"math/big"
	"slices"
	"sort"
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
	var own []*Reading
	for _, m := range j.s.Machines {
		for _, list := range m.Readings[def.Name] {
			for _, r := range list {
				fits := r.Part == slot.Part.ID || r.Part == "" && m == j.m && slices.Contains(here, r) && r.Done.Compare(slot.Since) >= 0
				if fits && r.Segment >= slot.Part.Segment && !valueOf(r).IsZero() {
					own = append(own, r)
				}
			}
		}
	}
	sort.SliceStable(own, func(a, b int) bool { return j.earlier(own[a].Done, own[a].Entry, own[b].Done, own[b].Entry) })
	return own
}

// slot is where a part sits at a place: of that hand, or of no hand where the part has none.
func (j *judge) slot(part string, q record.Position, hand string) *Slot {
	def, _ := j.m.Fitted.Part(part)
	if s := j.m.Slots[part][SlotName(seat(def, q), hand)]; s != nil {
		return s
	}
	return j.m.Slots[part][SlotName(seat(def, q), "")]
}

// beyond is a reading past its limit at one place.
type beyond struct {
	at  record.Position
	r   *Reading
	why string // "5 1/16 in is past the limit 5 in"
}

// beyondAt judges the last reading at a place, of each hand: the worse counts, both are said. answered says which readings were seen to.
func (j *judge) beyondAt(def *schedule.Reading, q record.Position, answered func(*Reading) bool) (beyond, bool) {
	var found beyond
	ok := false
	for _, hand := range j.hands(q.Noun) {
		list := j.current(def, q, hand)
		if len(list) == 0 {
			continue
		}
		r := list[len(list)-1]
		against := schedule.Against{Median: j.median(def, q, hand, r)}
		if len(list) > 1 {
			against.Last = valueOf(list[len(list)-2])
		}
		if s := j.slot(def.Part, q, hand); !def.HasNew && s != nil && s.Part != nil && s.Part.In.Date() == list[0].Done.Date() {
			against.New = valueOf(list[0])
		}
		past, why := def.Past(valueOf(r), against)
		if !past || answered != nil && answered(r) {
			continue
		}
		if hand != "" {
			why = hand + " " + why
		}
		if ok {
			why = found.why + "; " + why
		}
		if !ok || j.earlier(r.Done, r.Entry, found.r.Done, found.r.Entry) {
			found.r = r // due since the first of the two
		}
		found.at, found.why, ok = q, why, true
	}
	return found, ok
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
		if v, ok := valueOf(list[len(list)-1]).Quantity(); ok {
			others = append(others, v)
		}
	}
	n := len(others)
	if n < 2 {
		return record.Value{}
	}
	sort.SliceStable(others, func(a, b int) bool { c, err := others[a].Cmp(others[b]); return err == nil && c < 0 })
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

// past judges readings past their limit. A doing of the job after the reading answers it, until it is measured again; a measurement by itself does not.
func (j *judge) past(job *schedule.Job, p record.Position, t *schedule.Trigger) []verdict {
	def, ok := j.m.Fitted.Reading(t.Past)
	if !ok {
		return nil
	}
	all := j.beyondAll(def, func(r *Reading) bool { return j.answered(job, p, r) })
	here := all
	if def.Of != "" && def.Of == p.Noun {
		here = slices.DeleteFunc(slices.Clone(all), func(b beyond) bool { return b.at != p })
	}
	k := t.K
	if k == 0 && def.Limit != nil {
		k = def.Limit.K
	}
	set := k > 1 && len(all) >= k
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
	for _, b := range here {
		v.entries = append(v.entries, b.r.Entry)
	}
	name := readingTitle(def)
	switch {
	case set:
		v.why = strconv.Itoa(len(all)) + " of " + strconv.Itoa(len(j.readingPlaces(def))) + " are past the limit of " + name + " (" + j.where(all, def) +
			"), from " + strconv.Itoa(k) + " on the whole set is due"
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

func (j *judge) beyondAll(def *schedule.Reading, answered func(*Reading) bool) []beyond {
	var all []beyond
	for _, q := range j.readingPlaces(def) {
		if b, ok := j.beyondAt(def, q, answered); ok {
			all = append(all, b)
		}
	}
	return all
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
	for _, d := range j.doings(job.Name, p) {
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
