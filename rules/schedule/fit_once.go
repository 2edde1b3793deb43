package schedule

import (
	"strconv"
	"strings"
	"sync"

	"shedbook/rules/record"
)

// fits are fits made before: whoever replays twice, as a command that records does, fits a machine once, and machines alike are fitted together.
var fits struct {
	sync.Mutex
	made map[fitKey]*Fitted
}

// maxFits is how many fits are kept; a farm has some tens of machines.
const maxFits = 128

// fitKey is all that a fit depends on. A Schedule is never changed once made, so that its address stands for it.
type fitKey struct {
	of   *Schedule
	with string
}

// fitWith writes what a schedule is fitted with so that no two of them are written alike.
func fitWith(options []record.Option, groups []record.Group, overrides []Override) string {
	var b strings.Builder
	word := func(s string) {
		b.WriteString(strconv.Itoa(len(s)))
		b.WriteByte(':')
		b.WriteString(s)
	}
	for _, o := range options {
		word("option")
		word(o.Name)
		word(o.Value)
	}
	for _, g := range groups {
		word("group")
		word(g.Name)
		word(g.Positions.String())
	}
	for _, o := range overrides {
		word("override")
		word(o.Path)
		word(o.Value)
		word(o.Page)
		word(string(o.Entry))
	}
	return b.String()
}

// Fit makes the schedule concrete. Options not named keep their defaults. Of several overrides of one path the last rules; one with an empty Value
// gives the schedule's own back. Overrides that do not fit are left out and listed in Dropped, so that one of them never hides the machine. The same
// arguments may give the same Fitted again. Errors: an unknown or impossible option, a group that names places the machine has not or a word that is
// taken, and Errors where the schedule does not hold with these options.
func (s *Schedule) Fit(options []record.Option, groups []record.Group, overrides []Override) (*Fitted, error) {
	key := fitKey{s, fitWith(options, groups, overrides)}
	fits.Lock()
	f := fits.made[key]
	fits.Unlock()
	if f != nil {
		return f, nil
	}
	f, err := s.fit(options, groups, overrides)
	if err != nil {
		return nil, err
	}
	if err := f.checkSetups(); err != nil {
		return nil, err
	}
	fits.Lock()
	defer fits.Unlock()
	if fits.made == nil || len(fits.made) >= maxFits {
		fits.made = map[fitKey]*Fitted{}
	}
	fits.made[key] = f
	return f, nil
}
