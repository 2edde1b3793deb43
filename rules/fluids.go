package rules

import (
	"slices"
	"strings"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// A fluid is a part that nobody takes out and looks at: the job that replaces it has drained the old one, so having done it is having a new one in. (Of a
// solid part it is not: the job may have been done with the old one cleaned; a swap says that it is new.) What was filled in, then and since, is kept
// with it: top-ups over its hours say whether the machine uses it.

// Filling is a fluid put in: a new fill or a top-up.
type Filling struct {
	Done   record.Done
	Amount quantity.Quantity
	TopUp  bool
	Use    map[string]quantity.Quantity // counter -> use of the fluid then
	Entry  ID
}

// ToppedUp is the sum of a fluid's top-ups, in the unit of the first; 0 and no unit where there is none. Amounts that do not add up to it (a weight
// after a volume) are left out, and fits is false.
func (p *Part) ToppedUp() (sum quantity.Quantity, fits bool) {
	fits = true
	for _, f := range p.Fillings {
		switch {
		case !f.TopUp:
		case sum.IsZero():
			sum = f.Amount
		default:
			more, ok := inUnit(f.Amount, sum.Unit())
			if !ok {
				fits = false
				continue
			}
			sum = plus(sum, more)
		}
	}
	return sum, fits
}

// refill puts a new fluid where a job that replaces one was done, unless this entry has put it in already.
func (r *replay) refill(u *unit, e *Effective, job *schedule.Job, done places) {
	if def, ok := u.f.Part(job.Swaps); !ok || !def.Fluid {
		return
	}
	fresh := false
	for _, s := range r.slotsOf(u, e, job.Swaps, done.positions(), "") {
		if slices.Contains(s.entries, e.Entry.ID) {
			continue
		}
		r.discard(r.unseat(s, e), "", e, "scrapped")
		r.enter(s, r.newPart(s, e, &record.Swap{}, 0), e)
		fresh = true
	}
	if fresh {
		r.event(u, e, "swap:"+job.Swaps, done.positions())
	}
}

// filled notes what was filled in with the fluid that it went to. A fluid of several places is left out: how much went where is not said.
func (r *replay) filled(u *unit, e *Effective, d *record.Did) {
	for _, f := range d.Fills {
		part, ok := u.fluid(f.Of, d.Job)
		if !ok {
			continue
		}
		s := u.slots[part][""]
		if s == nil || s.holds == nil || s.disputed {
			continue
		}
		use, _ := s.holds.useAt(e)
		s.holds.Fillings = append(s.holds.Fillings, Filling{Done: e.Done, Amount: f.Amount, TopUp: f.TopUp, Use: use, Entry: e.Entry.ID})
	}
}

// fluid is the machine's fluid that a person's word means: its name, or what the job that replaces it uses.
func (u *unit) fluid(word, job string) (string, bool) {
	if u.f == nil {
		return "", false
	}
	word = strings.ToLower(strings.TrimSpace(word))
	if p, ok := u.f.Part(strings.ReplaceAll(word, " ", "-")); ok && p.Fluid {
		return p.Name, true
	}
	j, ok := u.f.Job(job)
	if !ok {
		return "", false
	}
	p, ok := u.f.Part(j.Swaps)
	uses := slices.ContainsFunc(j.Uses, func(x schedule.Use) bool { return strings.ToLower(x.What) == word })
	if !ok || !p.Fluid || !uses {
		return "", false
	}
	return p.Name, true
}
