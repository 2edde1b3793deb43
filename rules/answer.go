package rules

import "slices"

// Answer is what a portion's entries come to on a day: the work there is on its machines and what does not fit. It is plain data that may be kept.
type Answer struct {
	Items    []Item
	Problems []Problem // of the portion's machines, and those of no machine that its entries make
}

// AnswerOf is the answer of some machines by a State that holds all that their portion holds, with the filter's Within and All.
func AnswerOf(s *State, machines []ID, f Filter) Answer {
	f.Farm, f.Yard, f.Machine = "", "", ""
	a := Answer{Items: dueOn(s, f, func(m *Machine) bool { return f.takes(m) && slices.Contains(machines, m.ID) })}
	for _, p := range s.Problems {
		if p.Machine == "" || slices.Contains(machines, p.Machine) {
			a.Problems = append(a.Problems, p)
		}
	}
	return a
}

// JoinAnswers is what [Due] lists from the State of a whole book, for the farm, yard and machine of the filter, and the Problems of that State, all by the
// answers of all its portions to a filter of the same Within and All. Outline is the State of the common entries and the outline. Problems of what is
// no machine of the book are left out.
func JoinAnswers(outline *State, answers []Answer, f Filter) ([]Item, []Problem) {
	asked, held := map[ID]bool{}, map[ID]bool{"": true}
	for _, m := range outline.Machines {
		asked[m.ID], held[m.ID] = f.takes(m), true
	}
	var items []Item
	var problems []Problem
	for _, a := range answers {
		for _, i := range a.Items {
			if asked[i.Machine] {
				items = append(items, i)
			}
		}
		for _, p := range a.Problems {
			if p.Code != sameName && held[p.Machine] { // which are called alike is seen from the outline
				problems = append(problems, p)
			}
		}
	}
	for _, p := range outline.Problems {
		if p.Machine == "" || p.Code == sameName {
			problems = append(problems, p)
		}
	}
	orderItems(items)
	return items, sortedProblems(problems)
}
