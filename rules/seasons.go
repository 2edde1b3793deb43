package rules

import (
	"slices"

	"shedbook/rules/record"
)

// season plans, opens or closes a season of one name. Opening one that was closed opens it again.
func (r *replay) season(e *Effective, s *record.Season) {
	n := r.seasons[s.Name]
	if n == nil {
		n = &Season{Name: s.Name}
		r.seasons[s.Name] = n
	}
	kind := n.tell(e, s)
	if kind == "season-close" && n.Opened == "" {
		r.problem("season", "", []ID{e.Entry.ID}, "season %s was closed and never opened", s.Name)
	}
	if kind == "" {
		return
	}
	for _, u := range r.order {
		if u.f != nil && slices.Contains(u.f.Work, n.Work) && (len(n.Farms) == 0 || slices.Contains(n.Farms, u.m.Farm)) {
			r.event(u, e, kind, record.Positions{})
		}
	}
}

// tell takes in what an entry says of the season. It gives the event that this is, "" where it only plans.
func (n *Season) tell(e *Effective, s *record.Season) (event string) {
	if s.Work != "" {
		n.Work = s.Work
	}
	if len(s.Farms) > 0 {
		n.Farms = s.Farms
	}
	if s.From != "" {
		n.PlanFrom = s.From
	}
	if s.To != "" {
		n.PlanTo = s.To
	}
	if len(s.Use) > 0 {
		n.Use = s.Use
	}
	n.Reason.Entries = append(n.Reason.Entries, e.Entry.ID)
	switch s.Act {
	case "open":
		n.Opened, n.Closed = e.Done.Date(), ""
		return "season-open"
	case "close":
		n.Closed = e.Done.Date()
		return "season-close"
	}
	return ""
}

// toldSeasons are the seasons as they stand at the end, in the order in which they were first told of: what a counter did between two readings depends on
// seasons told of later.
func (r *replay) toldSeasons() []*Season {
	var all []*Season
	known := map[string]*Season{}
	for _, e := range r.effects {
		s, ok := e.Record.(*record.Season)
		if !ok {
			continue
		}
		if known[s.Name] == nil {
			known[s.Name] = &Season{Name: s.Name}
			all = append(all, known[s.Name])
		}
		known[s.Name].tell(e, s)
	}
	return all
}
