package schedule

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// MaxText is the greatest size of a schedule's text in bytes: what one entry can carry.
const MaxText = 48 << 10

// maxDepth bounds nesting; the grammar needs eight levels.
const maxDepth = 32

// source is a text and its name, for positions.
type source struct {
	file string
	text []byte
}

// at is the line and the column, in characters, of a byte offset.
func (s *source) at(offset int) (line, column int) {
	offset = min(offset, len(s.text))
	start := bytes.LastIndexByte(s.text[:offset], '\n') + 1
	return bytes.Count(s.text[:offset], []byte{'\n'}) + 1, utf8.RuneCount(s.text[start:offset]) + 1
}

// The kinds of nodes.
type nodeKind uint8

const (
	tableNode nodeKind = iota
	listNode
	textNode
	integerNode
	decimalNode
	boolNode
	otherNode // dates and times: the grammar has none
)

func (k nodeKind) String() string {
	return [...]string{"a table", "a list", "a text", "a whole number", "a number", "true or false", "a date or time"}[k]
}

// node is one value of the text with its place in it. The library's own decoder gives places for syntax only, so the tree is built from its
// (unstable) expression parser after its decoder has accepted the text; nothing here parses TOML.
type node struct {
	kind  nodeKind
	src   *source
	start int    // byte offset of the value, or of a table's header
	key   int    // byte offset of the key that holds it
	text  string // of a text; of numbers and booleans as written
	names []string
	items map[string]*node // of a table, by names
	list  []*node
}

func (n *node) mistake(offset int, message, hint string) Error {
	line, column := n.src.at(offset)
	return Error{File: n.src.file, Line: line, Column: column, Message: message, Hint: hint}
}

// add puts an item into a table.
func (n *node) add(name string, item *node) {
	if n.items == nil {
		n.items = map[string]*node{}
	}
	if _, ok := n.items[name]; !ok {
		n.names = append(n.names, name)
	}
	n.items[name] = item
}

// clone copies the tree, so that an override leaves the schedule's own alone.
func (n *node) clone() *node {
	c := *n
	c.names = append([]string(nil), n.names...)
	if n.items != nil {
		c.items = make(map[string]*node, len(n.items))
		for k, v := range n.items {
			c.items[k] = v.clone()
		}
	}
	c.list = make([]*node, len(n.list))
	for i, v := range n.list {
		c.list[i] = v.clone()
	}
	return &c
}

// parseTree reads TOML. The error is one Error: the library stops at the first mistake of syntax.
func parseTree(file string, text []byte) (*node, error) {
	src := &source{file, text}
	root := &node{src: src}
	if len(text) > MaxText {
		return nil, Errors{root.mistake(0, fmt.Sprintf("the text has %d bytes; a schedule has at most %d", len(text), MaxText),
			"shorten the notes, or make two kinds of it")}
	}
	if i := invalidUTF8(text); i >= 0 {
		return nil, Errors{root.mistake(i, "the text is not UTF-8 from here", "save the file as UTF-8")}
	}
	var anything map[string]any
	if err := toml.Unmarshal(text, &anything); err != nil {
		return nil, syntaxError(src, err)
	}
	b := &builder{src: src}
	b.parser.Reset(text)
	where := root
	for b.parser.NextExpression() {
		e := b.parser.Expression()
		switch e.Kind {
		case unstable.Table:
			where = b.descend(root, e.Key(), false)
		case unstable.ArrayTable:
			where = b.descend(root, e.Key(), true)
		case unstable.KeyValue:
			b.keyValue(where, e, 0)
		}
	}
	if err := b.parser.Error(); err != nil {
		return nil, syntaxError(src, err)
	}
	if b.tooDeep != nil {
		return nil, Errors{*b.tooDeep}
	}
	return root, nil
}

func invalidUTF8(text []byte) int {
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRune(text[i:])
		if r == utf8.RuneError && size == 1 {
			return i
		}
		i += size
	}
	return -1
}

// syntaxError gives the library's error its place, with columns in characters as everywhere.
func syntaxError(src *source, err error) Errors {
	e := Error{File: src.file, Line: 1, Column: 1, Message: err.Error()}
	var d *toml.DecodeError
	if errors.As(err, &d) {
		e.Line, e.Column = d.Position()
		lines := bytes.SplitAfter(src.text, []byte{'\n'})
		if e.Line <= len(lines) {
			line := lines[e.Line-1]
			e.Column = utf8.RuneCount(line[:min(max(e.Column-1, 0), len(line))]) + 1
		}
	}
	e.Message = "this is not TOML: " + strings.TrimPrefix(e.Message, "toml: ")
	return Errors{e}
}

// builder turns the library's expressions into nodes.
type builder struct {
	src     *source
	parser  unstable.Parser
	tooDeep *Error
}

// descend finds or makes the table of a header. The decoder has refused every clash already.
func (b *builder) descend(root *node, key unstable.Iterator, array bool) *node {
	where := root
	for depth := 0; key.Next(); depth++ {
		k := key.Node()
		name, start := string(k.Data), int(k.Raw.Offset)
		if depth > maxDepth {
			b.deep(start)
			return where
		}
		item := where.items[name]
		switch {
		case key.IsLast() && array:
			if item == nil || item.kind != listNode {
				item = &node{kind: listNode, src: b.src, start: start, key: start}
				where.add(name, item)
			}
			item.list = append(item.list, &node{src: b.src, start: start, key: start})
		case item == nil:
			item = &node{src: b.src, start: start, key: start}
			where.add(name, item)
		}
		if item.kind == listNode && len(item.list) > 0 {
			item = item.list[len(item.list)-1]
		}
		where = item
	}
	return where
}

func (b *builder) deep(start int) {
	if b.tooDeep == nil {
		e := (&node{src: b.src}).mistake(start, fmt.Sprintf("this is nested deeper than %d levels", maxDepth), "no key of a schedule lies so deep")
		b.tooDeep = &e
	}
}

func (b *builder) keyValue(where *node, e *unstable.Node, depth int) {
	key, value := e.Key(), e.Value()
	for steps := depth; key.Next(); steps++ {
		k := key.Node()
		name, start := string(k.Data), int(k.Raw.Offset)
		if steps > maxDepth {
			b.deep(start)
			return
		}
		if key.IsLast() {
			n := b.value(value, start, steps+1)
			n.key = start
			where.add(name, n)
			return
		}
		item := where.items[name]
		if item == nil {
			item = &node{src: b.src, start: start, key: start}
			where.add(name, item)
		}
		where = item
	}
}

// value builds one value; at is where its key stands, for values that carry no place of their own.
func (b *builder) value(v *unstable.Node, at, depth int) *node {
	n := &node{src: b.src, start: at, key: at, text: string(v.Data)}
	if v.Raw.Length > 0 {
		n.start = int(v.Raw.Offset)
	}
	if depth > maxDepth {
		b.deep(n.start)
		return n
	}
	switch v.Kind {
	case unstable.String:
		n.kind = textNode
	case unstable.Integer:
		n.kind = integerNode
	case unstable.Float:
		n.kind = decimalNode
	case unstable.Bool:
		n.kind = boolNode
	case unstable.Array:
		n.kind = listNode
		for it := v.Children(); it.Next(); {
			if it.Node().Kind != unstable.Comment {
				n.list = append(n.list, b.value(it.Node(), n.start, depth+1))
			}
		}
	case unstable.InlineTable:
		n.text = ""
		for it := v.Children(); it.Next(); {
			if it.Node().Kind == unstable.KeyValue {
				b.keyValue(n, it.Node(), depth+1)
			}
		}
	default:
		n.kind = otherNode
	}
	return n
}

// format writes the value as one line of TOML.
func (n *node) format() string {
	switch n.kind {
	case textNode:
		return formatText(n.text)
	case listNode:
		parts := make([]string, len(n.list))
		for i, v := range n.list {
			parts[i] = v.format()
		}
		return "[" + strings.Join(parts, ", ") + "]"
	case tableNode:
		parts := make([]string, len(n.names))
		for i, k := range n.names {
			parts[i] = formatKey(k) + " = " + n.items[k].format()
		}
		if len(parts) == 0 {
			return "{}"
		}
		return "{ " + strings.Join(parts, ", ") + " }"
	}
	return n.text
}

func formatKey(k string) string {
	for _, c := range k {
		if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_') {
			return formatText(k)
		}
	}
	if k == "" {
		return `""`
	}
	return k
}

// formatText writes a TOML basic string (TOML 1.0.0, "String").
func formatText(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case r < 0x20 || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// integer is the value of a whole number as written.
func (n *node) integer() (int, bool) {
	v, err := strconv.ParseInt(strings.ReplaceAll(n.text, "_", ""), 0, 32)
	return int(v), err == nil
}
