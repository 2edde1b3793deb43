package record

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Positions is a set of places of one machine, kept as expanded, merged ranges in noun order: "opener/1-13", "opener/15-48", "wheel/left-front".
// The zero value is the empty set, which in a record means the machine as a whole.
type Positions struct {
	ranges []Range
}

// Range is a run of numbered places of one noun, From to To inclusive and counted from 1, or one named place (Name set, From and To 0).
type Range struct {
	Noun     string
	From, To int
	Name     string
}

// Position is one place: a noun with a number from 1, or with a name. The zero Position is the machine as a whole.
type Position struct {
	Noun   string
	Number int
	Name   string
}

// String is "opener/12", "wheel/left-front", or "" for the machine as a whole.
func (p Position) String() string {
	switch {
	case p.Noun == "":
		return ""
	case p.Name != "":
		return p.Noun + "/" + p.Name
	}
	return p.Noun + "/" + strconv.Itoa(p.Number)
}

// Compare orders by noun, number, name.
func (p Position) Compare(o Position) int {
	if c := strings.Compare(p.Noun, o.Noun); c != 0 {
		return c
	}
	if p.Number != o.Number {
		return p.Number - o.Number
	}
	return strings.Compare(p.Name, o.Name)
}

// String is the stored form of one range.
func (r Range) String() string {
	switch {
	case r.Name != "":
		return r.Noun + "/" + r.Name
	case r.From == r.To:
		return r.Noun + "/" + strconv.Itoa(r.From)
	}
	return r.Noun + "/" + strconv.Itoa(r.From) + "-" + strconv.Itoa(r.To)
}

// NewPositions merges any places, in any order, doubled ones too, into a set.
func NewPositions(places ...Position) Positions {
	if !slices.IsSortedFunc(places, Position.Compare) {
		places = slices.Clone(places)
		slices.SortFunc(places, Position.Compare)
	}
	var set Positions
	for _, p := range places {
		if p.Noun == "" {
			continue
		}
		n := len(set.ranges)
		if n > 0 && p.Name == "" && set.ranges[n-1].Noun == p.Noun && set.ranges[n-1].Name == "" && p.Number <= set.ranges[n-1].To+1 {
			set.ranges[n-1].To = max(set.ranges[n-1].To, p.Number)
			continue
		}
		if n > 0 && p.Name != "" && set.ranges[n-1] == (Range{Noun: p.Noun, Name: p.Name}) {
			continue
		}
		set.ranges = append(set.ranges, Range{Noun: p.Noun, From: p.Number, To: p.Number, Name: p.Name})
	}
	return set
}

// Span is the places from to to of one noun.
func Span(noun string, from, to int) Positions {
	if to < from {
		return Positions{}
	}
	return Positions{ranges: []Range{{Noun: noun, From: from, To: to}}}
}

// ParsePositions reads stored forms; they must already be merged and in order (signed data has one form).
func ParsePositions(texts []string) (Positions, error) {
	var places []Position
	for _, t := range texts {
		r, err := parseRange(t)
		if err != nil {
			return Positions{}, err
		}
		places = r.expand(places)
	}
	set := NewPositions(places...)
	if got := set.Strings(); !slices.Equal(got, texts) {
		return Positions{}, fmt.Errorf("positions %q are not in their merged form %q", texts, got)
	}
	return set, nil
}

func parseRange(s string) (Range, error) {
	noun, rest, ok := strings.Cut(s, "/")
	if !ok || !isWord(noun) || rest == "" {
		return Range{}, fmt.Errorf("%q is no position: write opener/12, opener/1-48 or wheel/left-front", s)
	}
	if rest[0] < '0' || rest[0] > '9' {
		if !isWord(rest) {
			return Range{}, fmt.Errorf("%q is no position name", s)
		}
		return Range{Noun: noun, Name: rest}, nil
	}
	a, b, dash := strings.Cut(rest, "-")
	from, err := parseNumber(a)
	if err != nil {
		return Range{}, fmt.Errorf("%q: %w", s, err)
	}
	to := from
	if dash {
		if to, err = parseNumber(b); err != nil {
			return Range{}, fmt.Errorf("%q: %w", s, err)
		}
		if to <= from {
			return Range{}, fmt.Errorf("%q runs backwards", s)
		}
	}
	return Range{Noun: noun, From: from, To: to}, nil
}

// maxPosition bounds what a hostile range can expand to.
const maxPosition = 9999

func parseNumber(s string) (int, error) {
	n, err := strconv.Atoi(s)
	if err != nil || strconv.Itoa(n) != s || n < 1 || n > maxPosition {
		return 0, fmt.Errorf("%q is no position number from 1 to %d", s, maxPosition)
	}
	return n, nil
}

// isWord is [a-z][a-z0-9-]*.
func isWord(s string) bool {
	for i, c := range s {
		if !(c >= 'a' && c <= 'z' || i > 0 && (c >= '0' && c <= '9' || c == '-')) {
			return false
		}
	}
	return s != ""
}

// expand appends the places of a range.
func (r Range) expand(places []Position) []Position {
	if r.Name != "" {
		return append(places, Position{Noun: r.Noun, Name: r.Name})
	}
	places = slices.Grow(places, max(0, r.To-r.From+1))
	for n := r.From; n <= r.To; n++ {
		places = append(places, Position{Noun: r.Noun, Number: n})
	}
	return places
}

// Ranges are the merged runs in order.
func (s Positions) Ranges() []Range { return append([]Range(nil), s.ranges...) }

// Strings are the stored forms in order.
func (s Positions) Strings() []string {
	out := make([]string, len(s.ranges))
	for i, r := range s.ranges {
		out[i] = r.String()
	}
	return out
}

// String joins the stored forms by commas.
func (s Positions) String() string { return strings.Join(s.Strings(), ",") }

// All are the places one by one, in order.
func (s Positions) All() []Position {
	if s.IsZero() {
		return nil
	}
	out := make([]Position, 0, s.Len())
	for _, r := range s.ranges {
		out = r.expand(out)
	}
	return out
}

// Len counts the places.
func (s Positions) Len() int {
	n := 0
	for _, r := range s.ranges {
		if r.Name != "" {
			n++
		} else {
			n += r.To - r.From + 1
		}
	}
	return n
}

// IsZero reports the empty set: the machine as a whole.
func (s Positions) IsZero() bool { return len(s.ranges) == 0 }

// Has reports whether the set holds p.
func (s Positions) Has(p Position) bool {
	for _, r := range s.ranges {
		if r.Noun == p.Noun && r.Name == p.Name && r.From <= p.Number && p.Number <= r.To {
			return true
		}
	}
	return false
}

// Without is s less the places of o.
func (s Positions) Without(o Positions) Positions {
	if o.IsZero() {
		return s
	}
	var left Positions
	for _, r := range s.ranges {
		whole := true
		for _, cut := range o.ranges { // in order, so that what lies before a cut is left over for good
			if cut.Noun != r.Noun || cut.Name != r.Name || cut.To < r.From || r.To < cut.From {
				continue
			}
			if r.From < cut.From {
				left.ranges = append(left.ranges, Range{Noun: r.Noun, From: r.From, To: cut.From - 1})
			}
			if r.From = cut.To + 1; r.Name != "" || r.From > r.To {
				whole = false
				break
			}
		}
		if whole {
			left.ranges = append(left.ranges, r)
		}
	}
	return left
}

// Common holds the places that are in both.
func (s Positions) Common(o Positions) Positions {
	var both Positions
	for _, r := range s.ranges {
		for _, p := range o.ranges {
			if p.Noun != r.Noun || p.Name != r.Name || p.To < r.From || r.To < p.From {
				continue
			}
			both.ranges = append(both.ranges, Range{Noun: r.Noun, From: max(r.From, p.From), To: min(r.To, p.To), Name: r.Name})
		}
	}
	return both
}

// Union holds the places of both.
func (s Positions) Union(o Positions) Positions { return NewPositions(append(s.All(), o.All()...)...) }

// Equal reports the same set.
func (s Positions) Equal(o Positions) bool { return s.String() == o.String() }

// MarshalJSON writes the array of stored forms.
func (s Positions) MarshalJSON() ([]byte, error) { return json.Marshal(s.Strings()) }

// UnmarshalJSON takes the merged form only.
func (s *Positions) UnmarshalJSON(b []byte) error {
	texts, err := textsOf(b)
	if err != nil {
		return err
	}
	if len(texts) == 0 {
		return fmt.Errorf("an empty list of positions: leave the member out")
	}
	v, err := ParsePositions(texts)
	if err != nil {
		return err
	}
	*s = v
	return nil
}
