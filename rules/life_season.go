package rules

// LifeSeason is the use a machine is expected to have in the season looked to.
type LifeSeason struct {
	Machine *Machine
	Season  *Season // nil: one like those past
	Use     float64 // still to come, in the counter's unit; 0 where it is not known
	From    string  // where Use comes from, in words
	Entries []ID
}

// lifeSeason is what a machine will do: as asked; else what is left of the season's plan for its kind; else as its past seasons took, or the last twelve months.
func (s *State) lifeSeason(m *Machine, ask LifeAsk) LifeSeason {
	out := LifeSeason{Machine: m, Season: ask.Season}
	if m.Fitted == nil {
		return out
	}
	j := &judge{s: s, m: m}
	target, _ := j.season("")
	if out.Season == nil {
		out.Season = target
	}
	if !ask.Use.IsZero() {
		out.Use, _ = lifeAmount(ask.Use, ask.Unit)
		out.From = "as asked"
		return out
	}
	if n := out.Season; n != nil {
		for _, u := range n.Use {
			if planned, ok := lifeAmount(u.Amount, ask.Unit); ok && u.Kind == m.Kind && u.Counter == ask.Counter {
				out.Use, out.From, out.Entries = planned, "the season's plan", n.Reason.Entries
			}
		}
	}
	c := m.Counters[ask.Counter]
	if c == nil || len(c.Points) == 0 {
		return out
	}
	if out.From == "" {
		var begun []*Season
		for _, n := range j.seasons("") {
			if n.Opened != "" && n.Opened <= s.On && n != out.Season {
				begun = append(begun, n)
			}
		}
		if use, from, entries := j.pastUse(c, begun); use > 0 {
			out.Use, out.From, out.Entries = use, from, entries
		}
	}
	if n := out.Season; n != nil && n.Opened != "" && n.Closed == "" && out.From != "" {
		if done := c.worked(n.Opened, s.On); done > 0 {
			out.Use = max(0, out.Use-done)
			out.From += ", less what it did so far"
		}
	}
	return out
}
