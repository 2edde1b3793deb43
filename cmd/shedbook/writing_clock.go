package main

import "time"

// clockSlack is by how much this computer's clock may stand before what others wrote: the clocks of the world differ by a day.
const clockSlack = 24 * time.Hour

// newest is the latest time at which an entry was written, by its writer's clock; zero in a book without entries.
func (b *book) newest() time.Time {
	var last time.Time
	for _, e := range b.log.Entries() {
		if e.At().After(last) {
			last = e.At()
		}
	}
	return last
}

// sayClock warns, once an entry is safe, when this computer's clock stands more than a day before what was in the book: what is dated by it, and what is
// due, would be wrong. Which of two clocks is wrong nobody can know from here.
func (w *writing) sayClock(newest time.Time) {
	now := w.c.now()
	if w.local.Demo || newest.Sub(now) <= clockSlack {
		return
	}
	const minute = "2006-01-02 15:04"
	w.c.say("  the clock of this computer says %s, and the newest entry in the book was written on %s: one of the two clocks is wrong\n"+
		"  next: set this clock if it is the one, and put the date right: shedbook correct %s --done DATE\n",
		now.Format(minute), newest.In(now.Location()).Format(minute), w.run[len(w.run)-1].ID().Short())
}
