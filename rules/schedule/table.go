package schedule

import (
	"fmt"
	"strconv"
	"strings"
)

// reader turns a tree into a Schedule and collects every mistake on the way.
type reader struct {
	schedule *Schedule // being read; whole when the checks in later run
	options  map[string]Option
	values   map[string]string // option values in force
	counters []Counter
	claims   map[string]claim    // the shared namespace
	index    map[string][]string // names by kind of thing: "job", "counter", "caution", ...
	later    []func()            // checks that need the whole text read
	errs     Errors

	listing bool                // note what is read besides reading it:
	paths   []PathValue         // every value, by its path
	asked   map[string][]string // the keys a table may have, by its path
	grammar map[string][]string // the keys a table may have, by its kind: what GRAMMAR.md documents
}

// claim is a word of the shared namespace and where it was taken.
type claim struct {
	what string
	at   *node
}

func (r *reader) fail(e Error) { r.errs = append(r.errs, e) }

// table reads one table. Whatever key is asked for is known; finish reports the rest.
type table struct {
	r    *reader
	n    *node
	path string // "job.grease.when.1"
	kind string // "trigger": the kind of table, for the grammar
	what string // `job "grease"`, for messages
	name string // "grease"

	asked  []string // keys it may have
	broken bool     // no table at all: nothing more is said about it
}

// sub is a table within t.
func (t *table) sub(n *node, path, kind, what string) *table {
	if n.kind != tableNode {
		t.r.fail(n.mistake(n.start, fmt.Sprintf("%s is %s", what, n.kind), "write a table, [...] or { ... }"))
		return &table{r: t.r, n: &node{src: n.src, start: n.start, key: n.key}, path: path, kind: kind, what: what, broken: true}
	}
	return &table{r: t.r, n: n, path: path, kind: kind, what: what, asked: make([]string, 0, 32)}
}

func (t *table) join(key string) string {
	if t.path == "" {
		return key
	}
	return t.path + "." + key
}

// known notes that the table may have the key.
func (t *table) known(key string) {
	t.asked = append(t.asked, key)
	if !t.r.listing {
		return
	}
	t.r.asked[t.path] = append(t.r.asked[t.path], key)
	if !contains(t.r.grammar[t.kind], key) {
		t.r.grammar[t.kind] = append(t.r.grammar[t.kind], key)
	}
}

// raw is the value as written.
func (t *table) raw(key string) *node {
	t.known(key)
	return t.n.items[key]
}

// value is the value with an option in its place where it is written "=openers"; nil where absent or wrong.
func (t *table) value(key string) *node {
	n := t.raw(key)
	if n == nil {
		return nil
	}
	if t.r.listing {
		t.r.paths = append(t.r.paths, PathValue{Path: t.join(key), Value: n.format()})
	}
	return t.r.substitute(n)
}

func (r *reader) substitute(n *node) *node {
	if n.kind != textNode || !strings.HasPrefix(n.text, "=") {
		return n
	}
	name := strings.TrimSpace(n.text[1:])
	o, ok := r.options[name]
	if !ok {
		r.fail(n.mistake(n.start, fmt.Sprintf("no option %q", name), didYouMean(name, r.index["option"])))
		return nil
	}
	c := *n
	c.text = r.values[name]
	switch o.Type {
	case "count":
		c.kind = integerNode
	case "yes-no":
		c.kind, c.text = boolNode, strconv.FormatBool(c.text == "yes")
	}
	return &c
}

// wrong reports a wrong value.
func (t *table) wrong(n *node, hint, format string, args ...any) {
	if n == nil {
		n = t.n // the value came from elsewhere: an option, a default
	}
	t.r.fail(n.mistake(n.start, fmt.Sprintf(format, args...), hint))
}

// missing reports an absent key.
func (t *table) missing(key, hint string) {
	if t.broken {
		return
	}
	t.r.fail(t.n.mistake(t.n.start, fmt.Sprintf("%s has no %s", t.what, key), hint))
}

// typed is the value if it is of the kind wanted.
func (t *table) typed(key string, kind nodeKind, example string) *node {
	n := t.value(key)
	if n != nil && n.kind != kind {
		t.wrong(n, "write "+example, "%s of %s is %s", key, t.what, n.kind)
		return nil
	}
	return n
}

// text is any text; "" where absent.
func (t *table) text(key string) string {
	n := t.typed(key, textNode, `a text in quotes`)
	if n == nil {
		return ""
	}
	return t.clean(n, key)
}

// clean refuses what must not reach a terminal or a page.
func (t *table) clean(n *node, key string) string {
	for _, c := range n.text {
		if c < 0x20 && c != '\n' || c >= 0x7f && c < 0xa0 || c >= 0x202a && c <= 0x202e || c >= 0x2066 && c <= 0x2069 || c == 0xfeff {
			t.wrong(n, "take it out", "%s of %s holds the control character %U", key, t.what, c)
			return ""
		}
	}
	return strings.TrimSpace(n.text)
}

// word is a name of the grammar: [a-z][a-z0-9]*(-[a-z0-9]+)*.
func (t *table) word(key string) (string, *node) {
	n := t.typed(key, textNode, `a word in quotes`)
	if n == nil {
		return "", nil
	}
	if !isName(n.text) {
		t.wrong(n, asWord(n.text), "%s of %s is %q, which is no word", key, t.what, n.text)
		return "", nil
	}
	return n.text, n
}

func isName(s string) bool {
	dash := true
	for i, c := range s {
		switch {
		case c >= 'a' && c <= 'z':
			dash = false
		case c >= '0' && c <= '9' && i > 0:
			dash = false
		case c == '-' && !dash:
			dash = true
		default:
			return false
		}
	}
	return s != "" && !dash && len(s) <= 40
}

// asWord says how a word is written, by the text itself where that comes near one: "Hay Rake" is hay-rake.
func asWord(text string) string {
	parts := strings.FieldsFunc(strings.ToLower(text), func(c rune) bool { return c == ' ' || c == '_' || c == '-' || c == '.' || c == '/' })
	const rule = "small letters, digits and single dashes, a letter first, at most 40"
	if w := strings.Join(parts, "-"); isName(w) {
		return fmt.Sprintf("write %q: %s", w, rule)
	}
	return "write " + rule
}

// oneOf is one word of a fixed list; absent: the first.
func (t *table) oneOf(key string, words ...string) string {
	n := t.typed(key, textNode, `a word in quotes`)
	if n == nil {
		return words[0]
	}
	for _, w := range words {
		if n.text == w {
			return w
		}
	}
	var known []string
	for _, w := range words {
		if w != "" {
			known = append(known, w)
		}
	}
	hint := "write " + quoted(known, "or")
	if near := Suggest(n.text, known); len(near) > 0 {
		hint = "did you mean " + quoted(near, "or") + "?"
	}
	t.wrong(n, hint, "%s of %s is %q", key, t.what, n.text)
	return words[0]
}

// texts is a list of texts; one alone may stand without brackets. What an option put in place of a list is a list of one.
func (t *table) nodes(key string, kinds ...nodeKind) []*node {
	n := t.value(key)
	if n == nil {
		return nil
	}
	list := []*node{n}
	if n.kind == listNode {
		list = n.list
	}
	var out []*node
	for _, item := range list {
		if item = t.r.substitute(item); item == nil {
			continue
		}
		ok := false
		for _, k := range kinds {
			ok = ok || item.kind == k
		}
		if !ok {
			t.wrong(item, "write texts in quotes", "%s of %s holds %s", key, t.what, item.kind)
			continue
		}
		out = append(out, item)
	}
	return out
}

func (t *table) texts(key string) []string {
	var out []string
	for _, n := range t.nodes(key, textNode) {
		out = append(out, t.clean(n, key))
	}
	return out
}

// words is a list of names.
func (t *table) words(key string) []string {
	var out []string
	for _, n := range t.nodes(key, textNode) {
		if !isName(n.text) {
			t.wrong(n, asWord(n.text), "%s of %s holds %q, which is no word", key, t.what, n.text)
			continue
		}
		for _, o := range out {
			if o == n.text {
				t.wrong(n, "name it once", "%s of %s names %q twice", key, t.what, n.text)
			}
		}
		out = append(out, n.text)
	}
	return out
}

// tables are the tables of a list, one alone may stand without brackets. Their paths count from 1.
func (t *table) tables(key, kind, what string) []*table {
	n := t.raw(key)
	if n == nil {
		return nil
	}
	list := []*node{n}
	if n.kind == listNode {
		list = n.list
	}
	var out []*table
	for i, item := range list {
		out = append(out, t.sub(item, t.join(key)+"."+strconv.Itoa(i+1), kind, what))
	}
	return out
}

// one is a single table, nil where absent.
func (t *table) one(key, kind, what string) *table {
	n := t.raw(key)
	if n == nil {
		return nil
	}
	return t.sub(n, t.join(key), kind, what)
}

// named are the tables [key.NAME] in the order of the text. The names go into the index of the kind.
func (t *table) named(key string) []*table {
	n := t.raw(key)
	if n == nil {
		return nil
	}
	if n.kind != tableNode {
		t.wrong(n, fmt.Sprintf("write [%s.NAME] for each", key), "%s is %s", key, n.kind)
		return nil
	}
	var out []*table
	for _, name := range n.names {
		item := n.items[name]
		what := fmt.Sprintf("%s %q", key, name)
		if !isName(name) {
			t.r.fail(item.mistake(item.key, fmt.Sprintf("%s has a name that is no word", what), asWord(name)))
		}
		s := t.sub(item, t.join(key)+"."+name, key, what)
		s.name = name
		t.r.index[key] = append(t.r.index[key], name)
		out = append(out, s)
	}
	return out
}

// finish reports the keys nobody asked for.
func (t *table) finish() {
	for _, k := range t.n.names {
		if !contains(t.asked, k) {
			item := t.n.items[k]
			what := "in " + t.what
			if t.path == "" {
				what = "at the top"
			}
			hint := didYouMean(k, t.asked)
			t.r.fail(item.mistake(item.key, fmt.Sprintf("unknown key %q %s", k, what), hint))
		}
	}
}

// ref is a word that must name a thing of one of the kinds.
func (t *table) ref(key string, kinds ...string) string {
	w, n := t.word(key)
	if n != nil {
		t.refer(n, w, kinds...)
	}
	return w
}

// refs is a list of such words.
func (t *table) refs(key string, kinds ...string) []string {
	nodes := t.nodes(key, textNode)
	var out []string
	for _, n := range nodes {
		t.refer(n, n.text, kinds...)
		out = append(out, n.text)
	}
	return out
}

// refer has the word looked up when everything is read.
func (t *table) refer(n *node, word string, kinds ...string) {
	t.r.later = append(t.r.later, func() {
		var known []string
		for _, k := range kinds {
			for _, name := range t.r.index[k] {
				if name == word {
					return
				}
			}
			known = append(known, t.r.index[k]...)
		}
		t.wrong(n, didYouMean(word, known), "no %s %q", listed(kinds, "or"), word)
	})
}
