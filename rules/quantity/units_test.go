package quantity

import (
	"strings"
	"testing"
)

// TestTable holds the table of units to what the rest of the package takes for granted.
func TestTable(t *testing.T) {
	if len(units) > 256 {
		t.Fatalf("%d units do not fit a uint8", len(units))
	}
	owner := map[string]string{}
	for i, d := range units {
		u := Unit{uint8(i)}
		if d.factor == nil || d.factor.Sign() <= 0 {
			t.Errorf("%s: factor %v", d.name, d.factor)
		}
		if strings.ContainsAny(d.name, " \"") || strings.IndexFunc(d.name, func(r rune) bool { return r > '~' }) >= 0 {
			t.Errorf("%q is not plain ASCII without blanks", d.name)
		}
		if byName[d.name] != u {
			t.Errorf("%s is there twice", d.name)
		}
		for _, a := range append(strings.Fields(d.aliases), fold(d.name)) {
			if len(a) > 1 && fold(a) != a {
				t.Errorf("%s: spelling %q is never found: it is looked up as %q", d.name, a, fold(a))
			}
			if was, ok := owner[a]; ok && was != d.name && len(a) > 1 {
				t.Errorf("spelling %q stands for %s and for %s", a, was, d.name)
			}
			owner[a] = d.name
			if v := byAlias[a]; len(a) > 1 && v != u {
				t.Errorf("spelling %q leads to %q, not %q", a, v, d.name)
			}
		}
		if (d.system == AsWritten) != (d.usual.name == "") {
			t.Errorf("%s: system %s, but usual unit %q", d.name, d.system, d.usual.name)
		}
		if d.usual.name == "" {
			continue
		}
		o, ok := byName[d.usual.name]
		if !ok || mismatch(u, o) != nil || o.System() == d.system || o.System() == AsWritten || units[o.index].noun != d.noun {
			t.Errorf("%s: people of the other system do not read %q", d.name, d.usual.name)
		}
	}
	for i := range dimensionNames {
		if dimensionNames[i] == "" {
			t.Errorf("dimension %d has no name", i)
		}
	}
	for s := range twoWays {
		if u, ok := byName[s]; ok {
			t.Errorf("%q can be read two ways, but is stored for %q", s, u)
		}
	}
}

// TestTableRates recomputes every factor of a rate and of a product from its parts.
func TestTableRates(t *testing.T) {
	n := 0
	for _, d := range units {
		above, below, ok := strings.Cut(d.name, "/")
		if !ok {
			continue
		}
		n++
		if want := over(units[byName[above].index].factor, units[byName[below].index].factor); d.factor.Cmp(want) != 0 {
			t.Errorf("%s: factor %s, its parts give %s", d.name, d.factor, want)
		}
	}
	if n < 30 {
		t.Errorf("only %d rates seen", n)
	}
}

func TestEdits(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"acre", "", 4}, {"acre", "acer", 1}, {"inch", "inhc", 1}, {"bar", "bra", 1}, {"psi", "pis", 1}, {"kitten", "sitting", 3}, {"ca", "abc", 3}} {
		if got := edits(c.a, c.b); got != c.want {
			t.Errorf("edits(%q, %q) = %d, want %d", c.a, c.b, got, c.want)
		}
		if got := edits(c.b, c.a); got != c.want {
			t.Errorf("edits(%q, %q) = %d, want %d", c.b, c.a, got, c.want)
		}
	}
}
