package phrase

import (
	"fmt"
	"slices"
	"strings"
)

// numbers reads on behind a reading and its value while nothing but numbers follow: values of several places said in a row, or places said before the value.
func (p *parser) numbers(c *Clause) *Error {
	if !p.form.Each || p.form.Partial || len(c.Terms) != 1 || !isNumeric(c.Terms[0].Value) || !p.more() {
		return nil
	}
	for _, w := range p.words[p.i:] {
		if !isNumeric(w.text) || strings.Contains(w.text, "=") {
			return nil
		}
	}
	name, first := c.Terms[0].Name, p.i
	values := []string{c.Terms[0].Value}
	for p.more() {
		values = append(values, p.value(""))
	}
	if len(values) == 2 && len(c.Places) == 0 && whole.MatchString(values[0]) {
		return p.fail(p.words[first].text, fmt.Sprintf("shedbook measure %s %s %s %s", p.machine, values[0], name, values[1]), "%q: places stand before what is said of them, its value after it", p.words[first].text)
	}
	places := said(p.typed, c.But)
	if from := 0; len(c.Places) == 1 && len(c.But) == 0 {
		noun, number, of := strings.Cut(c.Places[0], "/")
		if !of {
			noun, number = "", noun
		}
		if n, err := fmt.Sscanf(number+" ", "%d ", &from); n == 1 && err == nil && fmt.Sprint(from) == number { // one place for several values: it and the next ones, most likely
			places = strings.TrimPrefix(fmt.Sprintf("%s/%d-%d", noun, from, from+len(values)-1), "/")
		}
	}
	if places != "" {
		places += " "
	}
	list, quote := strings.Join(values, ","), ""
	if strings.Contains(list, " ") || strings.Count(list, ",") >= len(values) {
		quote = `"`
	}
	if strings.Count(list, ",") >= len(values) { // decimal commas
		list = strings.Join(values, ";")
	}
	return p.fail(p.words[first].text, fmt.Sprintf("shedbook measure %s %s%s --values %s (or --ask, which asks place by place)", p.machine, places, name, quote+list+quote),
		"%d values are said: one for each place in the order of their numbers?", len(values))
}

// instead gives the line with the reading that is probably meant by a part's or a job's name; with no value said it asks for them.
func (p *parser) instead(e *Error, name string) {
	_, _, n, after, equals := p.name(p.i)
	var before, value []string
	for _, w := range p.words[:p.i] {
		before = append(before, w.text)
	}
	if equals && after != "" {
		value = append(value, after)
	}
	for _, w := range p.words[p.i+n:] {
		value = append(value, w.text)
	}
	readings := p.v.Measured(name, strings.Join(value, " "))
	if len(readings) == 0 {
		return
	}
	if len(value) == 0 {
		value = []string{"--ask"}
	}
	e.Hint = strings.Join(slices.Concat([]string{"shedbook", "measure", p.machine}, before, readings[:1], value), " ")
	if len(readings) > 1 {
		e.Hint += " (or " + strings.Join(readings[1:], ", ") + ")"
	}
}

// wordless asks for the free words that are missing, with the line to type as far as its places were said.
func (p *parser) wordless(places string) *Error {
	if places != "" {
		places += " "
	}
	question := map[string]string{"fault": "what is wrong with %s?", "repair": "what was put right on %s?"}[p.form.Verb]
	return p.fail("", fmt.Sprintf("shedbook %s %s %sWORDS", p.form.Verb, p.machine, places), or(question, "what is to be noted of %s?")+" the words are missing", p.machine)
}
