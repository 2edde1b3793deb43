package schedule

import (
	"fmt"
	"strconv"
	"strings"

	"shedbook/rules/record"
)

// The words in which people name places. What ParseWhere takes, and ParsePositions word by word:
//
//	where    = [ "the" "whole" "machine" ] | [ places ] [ "but" places ] .
//	places   = place { [ "and" ] place } .
//	place    = noun [ list ]               -- every opener; openers 3, 7-9
//	         | noun "/" list               -- opener/12  opener/1-48  opener/12,14-16  wheel/left-front
//	         | list                        -- numbers or names of the noun spoken of
//	         | "all" [ number ] [ noun ]   -- all 48 openers: the number must be right
//	         | group .                     -- left-wing, left wing, the farm's own
//	list     = item { [ "," ] item } .
//	item     = number [ "-" number ] | name .
//	noun     = singular or plural of the schedule's nouns .
//
// Several places are a union. Nothing named means every place of the noun spoken of. Bare numbers belong to the noun named last, else to the noun
// spoken of, else to the machine's only numbered noun. Case does not matter.

// PositionError says which word names no place and what there is.
type PositionError struct {
	Word  string // what was typed
	Noun  string // the noun meant, if any
	Why   string // "is no place", ...
	Known string // "this machine has openers 1 to 48"
}

// Error is `opener 49: this machine has openers 1 to 48`.
func (e *PositionError) Error() string {
	s := fmt.Sprintf("%q %s", e.Word, e.Why)
	if e.Known != "" {
		s += ": " + e.Known
	}
	return s
}

// listItem is one item of a list: a run of numbers, or a name.
type listItem struct {
	from, to int
	name     string
}

func (i listItem) expand(noun string) []record.Position {
	if i.name != "" {
		return []record.Position{{Noun: noun, Name: i.name}}
	}
	return record.Span(noun, i.from, i.to).All()
}

func (i listItem) first(noun string) record.Position {
	return record.Position{Noun: noun, Number: i.from, Name: i.name}
}

// parseList reads "1-16,20" or "left-front,right-front".
func parseList(text string) ([]listItem, error) {
	var out []listItem
	for _, word := range strings.Split(text, ",") {
		i, err := parseItem(strings.TrimSpace(word))
		if err != nil {
			return nil, err
		}
		out = append(out, i)
	}
	return out, nil
}

func parseItem(word string) (listItem, error) {
	if isName(word) {
		return listItem{name: word}, nil
	}
	a, b, dash := strings.Cut(word, "-")
	from, err := placeNumber(a)
	if err != nil {
		return listItem{}, err
	}
	to := from
	if dash {
		if to, err = placeNumber(b); err != nil {
			return listItem{}, err
		}
		if to < from {
			return listItem{}, fmt.Errorf("%q runs backwards: write %d-%d", word, to, from)
		}
	}
	return listItem{from: from, to: to}, nil
}

func placeNumber(s string) (int, error) {
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 || n > maxPlaces || s[0] == '+' {
		return 0, fmt.Errorf("%q is no number of a place: write 12, 1-16 or 1-13,15", s)
	}
	return n, nil
}

// ParseWhere reads positions as they are said in one text: "openers 1-48 but 14", "left wing", "". The noun is that of the thing spoken of, "" the
// machine.
func (f *Fitted) ParseWhere(noun, text string) (record.Positions, error) {
	var words, but []string
	into := &words
	for _, w := range strings.Fields(text) {
		if strings.EqualFold(w, "but") {
			if into == &but {
				return record.Positions{}, &PositionError{Word: "but", Noun: noun, Why: "stands there twice", Known: "write it once: but 14,31"}
			}
			into = &but
			continue
		}
		*into = append(*into, w)
	}
	if into == &but && len(but) == 0 {
		return record.Positions{}, &PositionError{Word: "but", Noun: noun, Why: "is followed by nothing", Known: "say which are left out: but 14,31"}
	}
	return f.ParsePositions(noun, words, but)
}

// ParsePositions resolves the words in which a person named places, less those after "but", to the set of places; see the grammar above. noun is
// that of the thing spoken of ("" the machine): no words mean all of its places, and every place must be one of them. The error is a
// *PositionError.
func (f *Fitted) ParsePositions(noun string, words, but []string) (record.Positions, error) {
	if p, _, ok := f.Noun(noun); ok {
		noun = p.Noun
	}
	set, err := f.union(noun, noun, words)
	if err != nil {
		return record.Positions{}, err
	}
	if len(words) == 0 {
		set = f.All(noun)
	}
	if len(but) == 0 {
		return set, nil
	}
	inner := noun
	if ranges := set.Ranges(); inner == "" && len(ranges) > 0 {
		inner = ranges[0].Noun
	}
	less, err := f.union(noun, inner, but)
	if err != nil {
		return record.Positions{}, err
	}
	rest := set.Without(less)
	if rest.Equal(set) {
		return record.Positions{}, &PositionError{Word: strings.Join(but, " "), Noun: noun, Why: "cannot be left out", Known: "it is not among " + f.Describe(set, noun)}
	}
	if rest.IsZero() {
		return record.Positions{}, &PositionError{Word: "but " + strings.Join(but, " "), Noun: noun, Why: "leaves nothing", Known: "name fewer after but"}
	}
	return rest, nil
}

// union resolves words; bare is the noun of bare numbers, must the noun every place must have ("" any).
func (f *Fitted) union(must, bare string, words []string) (record.Positions, error) {
	var tokens []string
	for _, w := range words {
		for _, t := range strings.Fields(strings.ToLower(w)) {
			if t = strings.Trim(t, ","); t != "" {
				tokens = append(tokens, t)
			}
		}
	}
	if strings.Join(tokens, " ") == "the whole machine" {
		if must != "" {
			return record.Positions{}, &PositionError{Word: "the whole machine", Noun: must, Why: "is not a place", Known: f.known(must)}
		}
		return record.Positions{}, nil
	}
	r := &resolver{f: f, must: must, bare: bare, tokens: tokens}
	var places []record.Position
	for r.next < len(tokens) {
		more, err := r.place()
		if err != nil {
			return record.Positions{}, err
		}
		places = append(places, more...)
	}
	return record.NewPositions(places...), nil
}

type resolver struct {
	f          *Fitted
	must, bare string
	tokens     []string
	next       int
}

func (r *resolver) peek() string {
	if r.next < len(r.tokens) {
		return r.tokens[r.next]
	}
	return ""
}

// place resolves one place and moves on.
func (r *resolver) place() ([]record.Position, error) {
	word := r.peek()
	r.next++
	if word == "and" && r.next > 1 && r.next < len(r.tokens) {
		return nil, nil
	}
	if word == "all" {
		return r.all()
	}
	if noun, list, ok := strings.Cut(word, "/"); ok {
		p, _, known := r.f.Noun(noun)
		if !known {
			return nil, r.unknown(word, noun)
		}
		return r.list(p.Noun, word, list)
	}
	p, _, noun := r.f.Noun(word)
	if noun && r.isItem(&p, r.peek()) {
		return r.nounList(&p)
	}
	if places, err := r.group(word, !noun); places != nil || err != nil {
		return places, err
	}
	if noun {
		r.bare = p.Noun
		return r.only(word, r.f.All(p.Noun).All())
	}
	return r.list(r.bareNoun(word), word, word)
}

// nounList resolves "openers 3, 7-9" from the list on.
func (r *resolver) nounList(p *Place) ([]record.Position, error) {
	r.bare = p.Noun
	var places []record.Position
	for r.isItem(p, r.peek()) {
		more, err := r.list(p.Noun, r.peek(), r.peek())
		if err != nil {
			return nil, err
		}
		places = append(places, more...)
		r.next++
	}
	return places, nil
}

// group resolves a group, whose name may be said with blanks: the longest that fits is meant. alone allows a name of one word.
func (r *resolver) group(word string, alone bool) ([]record.Position, error) {
	for n := min(len(r.tokens), r.next+7); n >= r.next; n-- {
		name := strings.Join(r.tokens[r.next-1:n], "-")
		g, ok := r.f.GroupPositions(name)
		if !ok || n == r.next && !alone {
			continue
		}
		r.next = n
		places := g.All()
		if len(places) > 0 {
			r.bare = places[0].Noun
		}
		return r.only(name, places)
	}
	return nil, nil
}

// bareNoun is the noun of numbers or names that stand alone.
func (r *resolver) bareNoun(word string) string {
	if r.bare != "" {
		return r.bare
	}
	first := word[0]
	noun := ""
	for i := range r.f.Places {
		p := &r.f.Places[i]
		if (len(p.Names) == 0) == (first >= '0' && first <= '9') {
			if noun != "" {
				return ""
			}
			noun = p.Noun
		}
	}
	return noun
}

// isItem reports whether a word can go on a list of the noun's places.
func (r *resolver) isItem(p *Place, word string) bool {
	if word == "" || strings.Contains(word, "/") {
		return false
	}
	if len(p.Names) == 0 {
		return word[0] >= '0' && word[0] <= '9'
	}
	for _, w := range strings.Split(word, ",") {
		if !contains(p.Names, w) {
			return false
		}
	}
	return true
}

func (r *resolver) list(noun, word, list string) ([]record.Position, error) {
	items, err := parseList(list)
	if err != nil {
		return nil, &PositionError{Word: word, Noun: noun, Why: "names no place", Known: err.Error()}
	}
	if noun == "" {
		if items[0].name != "" {
			return nil, r.unknown(word, word)
		}
		return nil, &PositionError{Word: word, Why: "could be several places", Known: "name the noun: " + r.f.known("")}
	}
	var places []record.Position
	for _, i := range items {
		if i.name != "" && !r.f.has(i.first(noun)) {
			return nil, r.unknown(word, i.name)
		}
		for _, q := range i.expand(noun) {
			if !r.f.has(q) {
				return nil, &PositionError{Word: word, Noun: noun, Why: "names no place", Known: r.f.known(noun)}
			}
			places = append(places, q)
		}
	}
	return r.only(word, places)
}

// all resolves "all", "all openers" and "all 48 openers".
func (r *resolver) all() ([]record.Position, error) {
	number := ""
	if w := r.peek(); w != "" && w[0] >= '0' && w[0] <= '9' {
		number = w
		r.next++
	}
	noun := r.bare
	if p, _, ok := r.f.Noun(r.peek()); ok {
		noun = p.Noun
		r.next++
	} else if noun == "" && len(r.f.Places) == 1 {
		noun = r.f.Places[0].Noun
	}
	if noun == "" {
		if number == "" && len(r.tokens) == 1 {
			return nil, nil // all of the machine
		}
		return nil, &PositionError{Word: "all", Why: "could be several places", Known: "name the noun: " + r.f.known("")}
	}
	set := r.f.All(noun)
	if number != "" && number != strconv.Itoa(set.Len()) {
		return nil, &PositionError{Word: "all " + number, Noun: noun, Why: "is not how many there are", Known: r.f.known(noun)}
	}
	return r.only("all", set.All())
}

// only refuses places of another noun than that of the thing spoken of.
func (r *resolver) only(word string, places []record.Position) ([]record.Position, error) {
	for _, q := range places {
		if r.must != "" && q.Noun != r.must {
			return nil, &PositionError{Word: word, Noun: r.must, Why: fmt.Sprintf("is no %s", r.must), Known: r.f.known(r.must)}
		}
	}
	return places, nil
}

// unknown is the error for a word that stands for nothing, with the words near it.
func (r *resolver) unknown(word, part string) error {
	var known []string
	for _, p := range r.f.Places {
		if r.must == "" || p.Noun == r.must {
			known = append(known, p.Noun, p.Plural)
			known = append(known, p.Names...)
		}
	}
	for _, g := range r.f.Groups {
		known = append(known, g.Name)
	}
	for _, g := range r.f.Farm {
		known = append(known, g.Name)
	}
	hint := r.f.known(r.must)
	if near := Suggest(part, known); len(near) > 0 {
		hint = "did you mean " + quoted(near, "or") + "?"
	}
	return &PositionError{Word: word, Noun: r.must, Why: "names no place", Known: hint}
}
