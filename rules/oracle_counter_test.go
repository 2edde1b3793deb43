package rules_test

import (
	"math/big"
	"slices"
	"time"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// mark is one known point of a counter: what it showed and how much the machine had worked in all.
type mark struct {
	done       record.Done
	face, life *big.Rat
	entry      record.ID
	off        bool // taken off its carrier: from here on it gains nothing and has no rate
}

// act is one thing written down of one counter.
type act struct {
	record.CounterAct
	done  record.Done
	entry record.ID
}

// acts of a counter in order of effect; a run of readings of one moment counts from the least up, for nobody chose an order among them.
func (o *oracle) acts(machine record.ID, counter string) []act {
	var out []act
	for _, t := range o.about(machine) {
		for _, r := range t.rec.(interface{ Base() *record.Work }).Base().Counters {
			if r.Counter == counter {
				out = append(out, act{record.CounterAct{Act: "at", Value: r.At}, t.done, t.id})
			}
		}
		if c, ok := t.rec.(*record.Counter); ok {
			for _, a := range c.Acts {
				if a.Counter == counter {
					out = append(out, act{a, t.done, t.id})
				}
			}
		}
	}
	for i := range out {
		for k := i; k > 0 && out[k].Act == "at" && out[k-1].Act == "at" && out[k].done.Compare(out[k-1].done) == 0; k-- {
			if c, err := out[k].Value.Cmp(out[k-1].Value); err == nil && c < 0 {
				out[k], out[k-1] = out[k-1], out[k]
			}
		}
	}
	return out
}

// in is an amount as a number of the counter's unit, to three decimals where it does not convert exactly; what was not said is nothing.
func in(q quantity.Quantity, u quantity.Unit) *big.Rat {
	if q.IsZero() {
		return new(big.Rat)
	}
	if e, err := q.Exact(u); err == nil {
		return e.Rat()
	}
	e, err := q.In(u, 3)
	if err != nil {
		panic(err)
	}
	return e.Rat()
}

// curve joins what was written of a counter into known points. A reading below the face, with no reset between, is none.
func (o *oracle) curve(machine record.ID, counter string) []mark {
	def, ok := o.fit(machine).Counter(counter)
	if !ok {
		return nil
	}
	var out []mark
	face, life := new(big.Rat), new(big.Rat)
	point := func(a act) {
		out = append(out, mark{done: a.done, face: face, life: life, entry: a.entry})
	}
	// forward takes the face on to a value; use begins with the first face ever seen.
	forward := func(a act, to *big.Rat) bool {
		if to.Cmp(face) < 0 {
			return false
		}
		life = plusRat(life, minusRat(to, face))
		face = to
		return true
	}
	for _, a := range o.acts(machine, counter) {
		value := in(a.Value, def.Unit)
		switch a.Act {
		case "at":
			if forward(a, value) {
				point(a)
			}
		case "add":
			face, life = plusRat(face, value), plusRat(life, value)
			point(a)
		case "reset", "replaced":
			if !a.Last.IsZero() {
				forward(a, in(a.Last, def.Unit))
			} else if len(out) == 0 {
				life = value // the first face ever seen
			}
			face = value
			point(a)
		}
	}
	if len(out) == 0 && def.Derive != nil {
		return o.derived(machine, def)
	}
	return out
}

// derived is the curve of a counter nobody read: hours are area by field capacity, else what the carrier's counter moved while it carried the machine.
func (o *oracle) derived(machine record.ID, def *schedule.Counter) []mark {
	d := def.Derive
	if d.From != "" {
		capacity, err := quantity.FieldCapacity(d.Width, d.Speed, d.Efficiency)
		if err != nil {
			panic(err)
		}
		var out []mark
		for _, m := range o.curve(machine, d.From) {
			from, _ := o.fit(machine).Counter(d.From)
			area, err := quantity.FromRat(m.life, from.Unit, 15)
			if err != nil {
				panic(err)
			}
			h, err := quantity.WorkTime(area, capacity)
			if err != nil {
				panic(err)
			}
			worked := roundTo(in(h, def.Unit), 2)
			out = append(out, mark{done: m.done, face: worked, life: worked, entry: m.entry})
		}
		if len(out) > 0 || d.Carrier == "" {
			return out
		}
	}
	return o.carried(machine, d.Carrier)
}

// carried counts what the carrier's counter moved from each hitching to the next one.
func (o *oracle) carried(machine record.ID, counter string) []mark {
	if counter == "" {
		return nil
	}
	var out []mark
	total := new(big.Rat)
	hitches := slices.DeleteFunc(o.about(machine), func(t told) bool { _, ok := t.rec.(*record.Hitch); return !ok })
	for i, t := range hitches {
		carrier := t.rec.(*record.Hitch).Carrier
		if carrier == "" {
			continue
		}
		source := o.curve(carrier, counter)
		if len(source) == 0 {
			continue
		}
		from, base := t.done, total
		start := o.recordedAt(carrier, source, from)
		put := func(at record.Done, life *big.Rat, entry record.ID) {
			total = plusRat(base, minusRat(life, start))
			out = append(out, mark{done: at, face: total, life: total, entry: entry})
		}
		put(from, start, t.id)
		for _, m := range source {
			if m.done.Compare(from) > 0 && (i+1 == len(hitches) || m.done.Compare(hitches[i+1].done) < 0) {
				put(m.done, m.life, m.entry)
			}
		}
		if i+1 < len(hitches) {
			to := hitches[i+1].done
			put(to, o.recordedAt(carrier, source, to), hitches[i+1].id)
		}
	}
	if n := len(out); n > 0 {
		out[n-1].off = hitches[len(hitches)-1].rec.(*record.Hitch).Carrier == ""
	}
	return out
}

func plusRat(a, b *big.Rat) *big.Rat  { return new(big.Rat).Add(a, b) }
func minusRat(a, b *big.Rat) *big.Rat { return new(big.Rat).Sub(a, b) }
func timesRat(a, b *big.Rat) *big.Rat { return new(big.Rat).Mul(a, b) }
func ratInt(n int64) *big.Rat         { return new(big.Rat).SetInt64(n) }

// decimalsOf counts the decimals of a number that has a finite number of them, 15 at most.
func decimalsOf(r *big.Rat) int {
	ten, x := ratInt(10), r
	for n := range 15 {
		if x.IsInt() {
			return n
		}
		x = timesRat(x, ten)
	}
	return 15
}

// tenth rounds use between two readings half to even at a tenth of the unit, or as fine as those readings are.
func tenth(r *big.Rat, like ...*big.Rat) *big.Rat {
	places := 1
	for _, l := range like {
		places = max(places, decimalsOf(l))
	}
	q, err := quantity.FromRat(r, quantity.Unit{}, places)
	if err != nil {
		panic(err)
	}
	return q.Rat()
}

// straight is a curve at a moment between its first and last point, on the straight line from the point before to the point after over the time in which the
// machine may have worked.
func (o *oracle) straight(machine record.ID, c []mark, at record.Done) *big.Rat {
	i := 0
	for k := range c {
		if c[k].done.Compare(at) <= 0 {
			i = k
		}
	}
	if i == len(c)-1 || minutesOf(c[i].done) == minutesOf(at) {
		return c[i].life
	}
	a, b := c[i], c[i+1]
	from, to, now := minutesOf(a.done), minutesOf(b.done), minutesOf(at)
	part := big.NewRat(now-from, to-from)
	for _, may := range []func(int64) bool{o.mayWork(machine, true), o.mayWork(machine, false)} {
		if all := o.count(machine, from, to, may); all > 0 {
			part = big.NewRat(o.count(machine, from, now, may), all)
			break
		}
	}
	grown := timesRat(minusRat(b.life, a.life), part)
	return tenth(plusRat(a.life, grown), a.life, b.life)
}

// recordedAt is use by the readings alone: level after the last and before the first.
func (o *oracle) recordedAt(machine record.ID, c []mark, at record.Done) *big.Rat {
	if at.Compare(c[0].done) < 0 {
		return c[0].life
	}
	return o.straight(machine, c, at)
}

// useAt is use at a moment, after the last reading carried on at the recent rate; ok is false before the first.
func (o *oracle) useAt(machine record.ID, c []mark, at record.Done) (life *big.Rat, estimated, ok bool) {
	if len(c) == 0 || at.Compare(c[0].done) < 0 {
		return nil, false, false
	}
	last := c[len(c)-1]
	if at.Compare(last.done) <= 0 {
		return o.straight(machine, c, at), false, true
	}
	rate, seen := o.rateOf(machine, c)
	if rate == nil {
		return last.life, false, true
	}
	days := min(o.unstoredMinutes(machine, minutesOf(last.done), minutesOf(at)), seen)
	est := tenth(plusRat(last.life, timesRat(rate, ratInt(days))), last.life)
	return est, est.Cmp(last.life) > 0, true
}

// rateOf is use a minute outside storage over the last 365 days before the last reading, or all there is of the curve; seen over a day at the least.
func (o *oracle) rateOf(machine record.ID, c []mark) (rate *big.Rat, seen int64) {
	last := c[len(c)-1]
	from, to := c[0].done, minutesOf(last.done)
	if year := to - 365*24*60; year > minutesOf(from) {
		from = record.Done(time.Unix((year-1)*60, 0).UTC().Format("2006-01-02")) // midnight is the end of a day
		if year%(24*60) != 0 {
			from = record.Done(time.Unix(year*60, 0).UTC().Format("2006-01-02T15:04"))
		}
	}
	grown := minusRat(last.life, o.straight(machine, c, from))
	seen = o.unstoredMinutes(machine, minutesOf(from), to)
	if seen == 0 || grown.Sign() <= 0 || last.off {
		return nil, 0
	}
	seen = max(seen, 24*60)
	return new(big.Rat).Quo(grown, ratInt(seen)), seen
}

type stretchOf struct{ from, to int64 }

// stored are the times in storage; one that goes on has no end.
func (o *oracle) stored(machine record.ID) []stretchOf {
	const never = 1 << 60
	var out []stretchOf
	in := false
	for _, t := range o.about(machine) {
		s, ok := t.rec.(*record.Store)
		switch {
		case ok && s.Act == "in" && !in:
			out = append(out, stretchOf{minutesOf(t.done), never})
			in = true
		case ok && s.Act == "out" && in:
			out[len(out)-1].to = minutesOf(t.done)
			in = false
		}
	}
	return out
}

// mayWork says of a minute whether the machine may have worked in it: not in storage and, if asked and a season of its work was ever opened, within one.
func (o *oracle) mayWork(machine record.ID, seasons bool) func(int64) bool {
	stored := o.stored(machine)
	var open []stretchOf
	if seasons {
		open = o.openOf(machine)
	}
	within := func(all []stretchOf, m int64) bool {
		return slices.ContainsFunc(all, func(s stretchOf) bool { return s.from <= m && m < s.to })
	}
	return func(m int64) bool { return !within(stored, m) && (len(open) == 0 || within(open, m)) }
}

// openOf are the seasons of a machine's kinds of work, on whichever farm, from the start of the first day to the end of the last.
func (o *oracle) openOf(machine record.ID) []stretchOf {
	names := map[string]bool{}
	for _, t := range o.told {
		if s, ok := t.rec.(*record.Season); ok {
			names[s.Name] = true
		}
	}
	var out []stretchOf
	for name := range names {
		work, opened, closed := "", "", ""
		for _, t := range o.told {
			s, ok := t.rec.(*record.Season)
			if !ok || s.Name != name {
				continue
			}
			if s.Work != "" {
				work = s.Work
			}
			if s.Act == "open" {
				opened, closed = s.Done.Date(), ""
			}
			if s.Act == "close" {
				closed = s.Done.Date()
			}
		}
		if opened == "" || !slices.Contains(o.fit(machine).Work, work) {
			continue
		}
		b := stretchOf{minutesOf(record.Done(opened + "T00:00")), 1 << 60}
		if closed != "" {
			b.to = minutesOf(record.Done(closed))
		}
		out = append(out, b)
	}
	return out
}

// count is how many minutes from one to another may hold work: from edge to edge of all that begins or ends between, each piece by its first minute.
func (o *oracle) count(machine record.ID, from, to int64, may func(int64) bool) int64 {
	edges := []int64{from, to}
	for _, s := range append(o.stored(machine), o.openOf(machine)...) {
		for _, e := range []int64{s.from, s.to} {
			if from < e && e < to {
				edges = append(edges, e)
			}
		}
	}
	slices.Sort(edges)
	n := int64(0)
	for i := 1; i < len(edges); i++ {
		if may(edges[i-1]) {
			n += edges[i] - edges[i-1]
		}
	}
	return n
}

func (o *oracle) unstoredMinutes(machine record.ID, from, to int64) int64 {
	n := to - from
	for _, s := range o.stored(machine) {
		n -= max(0, min(to, s.to)-max(from, s.from))
	}
	return n
}

// now is the end of the day asked about.
func (o *oracle) now() record.Done { return record.Done(o.on) }

// ownMark is the point an entry's own reading made, the last where it made several.
func ownMark(c []mark, entry record.ID) *mark {
	for _, m := range slices.Backward(c) {
		if m.entry == entry {
			return &m
		}
	}
	return nil
}
