package schedule

import (
	"fmt"
	"math/big"
	"strconv"
	"strings"
)

// maxPlaces bounds the places of one noun.
const maxPlaces = 999

// readOnly reads conditions. atFit: only options may be named, for the item is there or not.
func (t *table) readOnly(key string, atFit bool) []Only {
	return t.conditions(key, atFit, 0)
}

func (t *table) conditions(key string, atFit bool, depth int) []Only {
	var out []Only
	for _, c := range t.tables(key, "condition", key+" of "+t.what) {
		o := Only{Last: c.count("last", 1, 99), Is: c.texts("is")}
		o.Option = c.ref("option", "option")
		o.Setting, o.Reading = c.ref("setting", "setting"), c.ref("reading", "reading")
		o.State = c.oneOf("state", "", "stored", "unfit")
		o.Ground, o.Crop = c.text("ground"), c.text("crop")
		if depth < 4 {
			o.Any = c.conditions("any", atFit, depth+1)
		}
		c.finish()
		c.exactlyOne("option", "setting", "reading", "state", "ground", "crop", "any")
		n := c.n
		switch {
		case (o.Option != "" || o.Setting != "" || o.Reading != "") && len(o.Is) == 0:
			c.missing("is", `write is = "word" or is = ["this", "that"]`)
		case o.Option == "" && o.Setting == "" && o.Reading == "" && len(o.Is) > 0:
			t.r.fail(c.n.items["is"].mistake(c.n.items["is"].key, c.what+" has is without an option, setting or reading", "take it out"))
		case o.Last > 0 && o.Reading == "":
			t.r.fail(c.n.items["last"].mistake(c.n.items["last"].key, c.what+" has last without a reading", "take it out"))
		case atFit && (o.Setting != "" || o.Reading != "" || o.State != "" || o.Ground != "" || o.Crop != ""):
			t.r.fail(n.mistake(n.start, c.what+" may name options only", "what holds at some times belongs into while of a trigger"))
		}
		if opt, ok := t.r.options[o.Option]; ok {
			for i, w := range o.Is {
				if _, err := opt.Check(w); err != nil {
					at := c.n.items["is"]
					if at.kind == listNode && i < len(at.list) {
						at = at.list[i]
					}
					c.wrong(at, "", "%v", err)
				}
			}
		}
		out = append(out, o)
	}
	return out
}

// exactlyOne refuses a table with none or several of the keys.
func (t *table) exactlyOne(keys ...string) {
	var have []string
	for _, k := range keys {
		if t.n.items[k] != nil {
			have = append(have, k)
		}
	}
	switch {
	case t.broken:
	case len(have) == 0:
		t.r.fail(t.n.mistake(t.n.start, t.what+" has none of "+listed(keys, "and"), "write one of them"))
	case len(have) > 1:
		n := t.n.items[have[1]]
		t.r.fail(n.mistake(n.key, fmt.Sprintf("%s has both %s", t.what, listed(have, "and")), "keep one; a second one makes a second entry of the list"))
	}
}

// countOrOption reads a number of places or ranks: an integer or "=option". The text kept is the option's name or the number.
func (t *table) countOrOption(key string) string {
	raw := t.n.items[key]
	v := t.count(key, 1, maxPlaces)
	if raw != nil && raw.kind == textNode && strings.HasPrefix(raw.text, "=") {
		name := strings.TrimSpace(raw.text[1:])
		if o, ok := t.r.options[name]; ok && o.Type == "count" {
			if o.Min < 1 {
				t.wrong(raw, "give the option a min of 1", "%s of %s could be %d", key, t.what, o.Min)
			}
			return name
		}
	}
	if v == 0 {
		return ""
	}
	return strconv.Itoa(v)
}

func (r *reader) readPlaces(top *table) []Place {
	var out []Place
	for _, t := range top.named("place") {
		p := Place{Noun: t.name, Plural: t.text("plural"), Count: t.countOrOption("count"), Names: t.words("names"), Ranks: t.countOrOption("ranks"),
			Walk: t.oneOf("walk", "line", "serpentine"), Hands: t.words("hands"), HandsOnly: t.readOnly("hands_only", true), Only: t.readOnly("only", true)}
		if p.Plural == "" {
			p.Plural = p.Noun + "s"
		}
		r.claim(p.Noun, "noun", t.n)
		r.claimPlural(p.Plural, "plural of noun", t)
		t.exactlyOne("count", "names")
		if len(p.Hands) != 0 && len(p.Hands) != 2 {
			t.wrong(t.n.items["hands"], `write hands = ["left", "right"]`, "hands of %s names %d things", t.what, len(p.Hands))
		}
		if len(p.Hands) == 2 {
			r.index["handed place"] = append(r.index["handed place"], p.Noun)
		}
		if len(p.Names) > 0 && p.Ranks != "" {
			t.wrong(t.n.items["ranks"], "take it out", "%s has named places, which have no ranks", t.what)
		}
		if p.Ranks == "" {
			p.Ranks = "1"
		}
		t.finish()
		out = append(out, p)
	}
	return out
}

func (r *reader) claimPlural(plural, what string, t *table) {
	if !isName(plural) {
		at := t.n.items["plural"]
		if at == nil {
			at = t.n
		}
		r.fail(at.mistake(at.start, fmt.Sprintf("plural of %s is %q, which is no word", t.what, plural), "write small letters, digits and single dashes"))
		return
	}
	if plural != t.name {
		at := t.n.items["plural"]
		if at == nil {
			at = t.n
		}
		r.claim(plural, what, at)
	}
}

func (r *reader) readGroups(top *table) []Group {
	var out []Group
	for _, t := range top.named("group") {
		g := Group{Name: t.name, Of: t.ref("of", "place"), From: t.fraction("from"), To: t.fraction("to"), Step: t.count("step", 1, maxPlaces),
			Start: t.count("start", 1, maxPlaces), List: t.text("list"), Only: t.readOnly("only", true)}
		r.claim(g.Name, "group", t.n)
		if g.Of == "" && t.n.items["of"] == nil {
			t.missing("of", "name the noun it is a group of")
		}
		if n := t.value("rank"); n != nil {
			switch v, ok := n.integer(); {
			case n.kind == textNode && n.text == "front":
				g.Rank = 1
			case n.kind == textNode && n.text == "rear":
				g.Rank = -1
			case n.kind == integerNode && ok && v >= 1 && v <= maxPlaces:
				g.Rank = v
			default:
				t.wrong(n, `write "front", "rear" or a number, 1 in front`, "rank of %s is %s", t.what, n.format())
			}
		}
		t.exactlyOne("to", "rank", "step", "list")
		if g.To != nil && g.From == nil {
			g.From = new(big.Rat)
		}
		if g.From != nil && t.n.items["to"] == nil {
			t.missing("to", "a share of the width runs from one fraction to another: from = 0, to = \"1/3\"")
		}
		if g.From != nil && g.To != nil && (g.From.Sign() < 0 || g.From.Cmp(g.To) >= 0 || g.To.Cmp(big.NewRat(1, 1)) > 0) {
			t.wrong(t.n.items["to"], "0 is the left end, 1 the right end", "%s runs from %s to %s of the width", t.what, g.From.RatString(), g.To.RatString())
		}
		if g.Step > 0 && g.Start == 0 {
			g.Start = 1
		}
		if n := t.n.items["list"]; n != nil && g.List != "" {
			if _, err := parseList(g.List); err != nil {
				t.wrong(n, "", "list of %s: %v", t.what, err)
			}
		}
		t.finish()
		out = append(out, g)
	}
	return out
}

func (r *reader) readPairs(top *table) []Pair {
	var out []Pair
	for _, t := range top.named("pair") {
		p := Pair{Name: t.name, Of: t.ref("of", "place"), How: t.oneOf("how", "", "neighbours", "mirror", "list"), Only: t.readOnly("only", true)}
		for _, n := range t.nodes("list", textNode) {
			a, b, ok := strings.Cut(n.text, "+")
			if _, e1 := parseList(a); !ok || e1 != nil || a == b {
				t.wrong(n, `write "1+2" or "left-front+right-front"`, "list of %s holds %q, which is no pair", t.what, n.text)
			} else if _, e2 := parseList(b); e2 != nil {
				t.wrong(n, `write "1+2" or "left-front+right-front"`, "list of %s holds %q, which is no pair", t.what, n.text)
			}
			p.List = append(p.List, n.text)
		}
		if p.Of == "" && t.n.items["of"] == nil {
			t.missing("of", "name the noun")
		}
		if p.How == "" && t.n.items["how"] == nil {
			t.missing("how", `write how = "neighbours", "mirror" or "list"`)
		}
		if (p.How == "list") != (len(p.List) > 0) {
			t.missing("matching list", `how = "list" goes with list = ["1+2", ...], and only with it`)
		}
		t.finish()
		out = append(out, p)
	}
	return out
}

func (r *reader) readParts(top *table) []Part {
	var out []Part
	for _, t := range top.named("part") {
		p := Part{Name: t.name, Plural: t.text("plural"), Of: t.ref("of", "place"), Handed: t.flag("handed"), Pack: t.count("pack", 1, 9999),
			Set: t.flag("set"), With: t.refs("with", "part"), Partner: t.ref("partner", "pair"), Edges: t.count("edges", 1, 99),
			Fluid: t.flag("fluid"), Make: t.flag("make"), Per: t.count("per", 1, maxPlaces), Only: t.readOnly("only", true)}
		if i := t.interval("lead"); i != nil {
			if p.Lead = i.Amount.String(); !i.Calendar() {
				t.wrong(t.n.items["lead"], `write "14 d" or "2 wk"`, "lead of %s is %s, no calendar time", t.what, i)
			}
		}
		if p.Plural == "" {
			if p.Plural = p.Name + "s"; p.Fluid {
				p.Plural = p.Name
			}
		}
		r.claim(p.Name, "part", t.n)
		r.claimPlural(p.Plural, "plural of part", t)
		t.handed(p.Handed, p.Of)
		t.finish()
		out = append(out, p)
	}
	return out
}

// handed checks, once the places are known, that a handed thing sits where there are two hands.
func (t *table) handed(handed bool, of string) {
	if !handed {
		return
	}
	t.r.later = append(t.r.later, func() {
		if contains(t.r.index["handed place"], of) {
			return
		}
		t.wrong(t.n.items["handed"], `give the place hands = ["left", "right"]`, "%s is handed, but its place has no hands", t.what)
	})
}

func (r *reader) readAssemblies(top *table) []Assembly {
	var out []Assembly
	for _, t := range top.named("assembly") {
		a := Assembly{Name: t.name, Of: t.ref("of", "place"), Parts: t.refs("parts", "part"), Whole: t.flag("whole"), Only: t.readOnly("only", true)}
		r.claim(a.Name, "assembly", t.n)
		if a.Of == "" && t.n.items["of"] == nil {
			t.missing("of", "name the noun")
		}
		if len(a.Parts) == 0 && t.n.items["parts"] == nil {
			t.missing("parts", "name the parts that move with it")
		}
		t.finish()
		out = append(out, a)
	}
	return out
}
