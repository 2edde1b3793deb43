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
	kind := ""
	switch s.Act {
	case "open":
		n.Opened, n.Closed, kind = e.Done.Date(), "", "season-open"
	case "close":
		n.Closed, kind = e.Done.Date(), "season-close"
		if n.Opened == "" {
			r.problem("season", "", []ID{e.Entry.ID}, "season %s was closed and never opened", s.Name)
		}
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
