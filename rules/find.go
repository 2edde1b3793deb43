package rules

import (
	"sort"
	"strings"
)

// Machine is the machine of that name: one still held before one sold, the first added before later ones; nil when there is none.
func (s *State) Machine(name string) *Machine {
	var sold *Machine
	for _, m := range s.Machines {
		switch {
		case m.Name != name:
		case m.Sold == "":
			return m
		case sold == nil:
			sold = m
		}
	}
	return sold
}

// MachineByID is the machine that entry added, or nil.
func (s *State) MachineByID(id ID) *Machine {
	for _, m := range s.Machines {
		if m.ID == id {
			return m
		}
	}
	return nil
}

// Farm finds a farm by its id or name, in any case; nil when there is none.
func (s *State) Farm(idOrName string) *Farm {
	for _, f := range s.Farms {
		if string(f.ID) == idOrName || strings.EqualFold(f.Name, idOrName) {
			return f
		}
	}
	return nil
}

// Yard finds a yard by its id or name, in any case; nil when there is none.
func (s *State) Yard(idOrName string) *Yard {
	for _, y := range s.Yards {
		if string(y.ID) == idOrName || strings.EqualFold(y.Name, idOrName) {
			return y
		}
	}
	return nil
}

// AddPerson adds somebody known from elsewhere: people with devices are named by the ledger's own entries.
func (s *State) AddPerson(id ID, name string) {
	s.People = append(s.People, &Person{ID: id, Name: name})
	sort.Slice(s.People, func(i, j int) bool {
		return before(s.People[i].Name, s.People[j].Name, string(s.People[i].ID), string(s.People[j].ID))
	})
}

// Person finds a person by id or name, in any case; nil when there is none.
func (s *State) Person(idOrName string) *Person {
	for _, p := range s.People {
		if string(p.ID) == idOrName || p.Name != "" && strings.EqualFold(p.Name, idOrName) {
			return p
		}
	}
	return nil
}

// Season finds a season by its name, in any case; nil when there is none.
func (s *State) Season(name string) *Season {
	for _, n := range s.Seasons {
		if strings.EqualFold(n.Name, name) {
			return n
		}
	}
	return nil
}

// Part is the part of that id, or nil.
func (s *State) Part(id string) *Part {
	i := sort.Search(len(s.Parts), func(i int) bool { return s.Parts[i].ID >= id })
	if i < len(s.Parts) && s.Parts[i].ID == id {
		return s.Parts[i]
	}
	return nil
}

// Shelf is the shelf that entry added, or nil.
func (s *State) Shelf(id ID) *Shelf {
	for _, h := range s.Shelves {
		if h.ID == id {
			return h
		}
	}
	return nil
}
