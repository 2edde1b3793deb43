package intake

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strconv"
	"strings"
)

// element is an element by its local name: which namespace a program put it in differs, and says nothing that is used here.
type element struct {
	name string
	line int
	attr map[string]string // by local name
	text string
	kids []*element
}

// readXML reads a document within the limits. A document type, entities of the file's own, another encoding than UTF-8 and broken nesting refuse it.
func readXML(data []byte) (*element, error) {
	data, err := text(data)
	if err != nil {
		return nil, err
	}
	in := xml.NewDecoder(bytes.NewReader(data))
	in.Strict = true
	var root *element
	var open []*element
	nodes := 0
	for {
		line, _ := in.InputPos()
		tok, err := in.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			var se *xml.SyntaxError
			if errors.As(err, &se) {
				return nil, refuse(se.Line, "it is no well-formed XML: %s", se.Msg)
			}
			return nil, refuse(line, "it cannot be read: %v", err)
		}
		switch tok := tok.(type) {
		case xml.Directive:
			return nil, refuse(line, "it has a document type (<!...>), which no such file needs: it is not read")
		case xml.StartElement:
			line, _ = in.InputPos()
			if nodes += 1 + len(tok.Attr); nodes > mostNodes {
				return nil, refuse(line, "it has more than %d parts", mostNodes)
			}
			if len(open) == mostDepth {
				return nil, refuse(line, "more than %d elements lie inside each other", mostDepth)
			}
			e := &element{name: tok.Name.Local, line: line, attr: map[string]string{}}
			for _, a := range tok.Attr {
				if a.Name.Space == "xmlns" || a.Name.Local == "xmlns" {
					continue
				}
				if _, twice := e.attr[a.Name.Local]; twice {
					return nil, refuse(line, "%s has the attribute %q twice", e.name, a.Name.Local)
				}
				e.attr[a.Name.Local] = strings.TrimSpace(a.Value)
			}
			switch {
			case len(open) > 0:
				up := open[len(open)-1]
				up.kids = append(up.kids, e)
			case root != nil:
				return nil, refuse(line, "a second document begins")
			default:
				root = e
			}
			open = append(open, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) > 0 {
				open[len(open)-1].text += string(tok)
			} else if len(bytes.TrimSpace(tok)) > 0 {
				return nil, refuse(line, "there is text outside the document")
			}
		}
	}
	if root == nil {
		return nil, refuse(0, "it is no XML")
	}
	return root, nil
}

// all gives the children of a name.
func (e *element) all(name string) []*element {
	var out []*element
	for _, k := range e.kids {
		if k.name == name {
			out = append(out, k)
		}
	}
	return out
}

// first is the text of the first child that has one of the names, "" where there is none.
func (e *element) first(names ...string) string {
	for _, name := range names {
		for _, k := range e.kids {
			if strings.EqualFold(k.name, name) {
				return strings.TrimSpace(k.text)
			}
		}
	}
	return ""
}

func plural(columns int) string {
	if columns == 1 {
		return "1 column"
	}
	return strconv.Itoa(columns) + " columns"
}
