package ledger

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/gowebpki/jcs"
	"pgregory.net/rapid"
)

// RFC 8785 Appendix B, "Number Serialization Samples": IEEE 754 bits, the
// serialization ("" where the RFC has an error), and whether it is within our
// subset: an integer of magnitude up to 2^53-1.
var rfc8785AppendixB = []struct {
	bits uint64
	text string
	ours bool
}{
	{0x0000000000000000, "0", true},
	{0x8000000000000000, "0", true}, // minus zero is written 0; "-0" itself is below
	{0x0000000000000001, "5e-324", false},
	{0x8000000000000001, "-5e-324", false},
	{0x7fefffffffffffff, "1.7976931348623157e+308", false},
	{0xffefffffffffffff, "-1.7976931348623157e+308", false},
	{0x4340000000000000, "9007199254740992", false},
	{0xc340000000000000, "-9007199254740992", false},
	{0x4430000000000000, "295147905179352830000", false},
	{0x7fffffffffffffff, "", false},
	{0x7ff0000000000000, "", false},
	{0x44b52d02c7e14af5, "9.999999999999997e+22", false},
	{0x44b52d02c7e14af6, "1e+23", false},
	{0x44b52d02c7e14af7, "1.0000000000000001e+23", false},
	{0x444b1ae4d6e2ef4e, "999999999999999700000", false},
	{0x444b1ae4d6e2ef4f, "999999999999999900000", false},
	{0x444b1ae4d6e2ef50, "1e+21", false},
	{0x3eb0c6f7a0b5ed8c, "9.999999999999997e-7", false},
	{0x3eb0c6f7a0b5ed8d, "0.000001", false},
	{0x41b3de4355555553, "333333333.3333332", false},
	{0x41b3de4355555554, "333333333.33333325", false},
	{0x41b3de4355555555, "333333333.3333333", false},
	{0x41b3de4355555556, "333333333.3333334", false},
	{0x41b3de4355555557, "333333333.33333343", false},
	{0xbecbf647612f3696, "-0.0000033333333333333333", false},
	{0x43143ff3c1cb0959, "1424953923781206.2", false},
}

func scanAlone(text string) error {
	s := scanner{b: []byte(text)}
	if err := s.value(0); err != nil {
		return err
	}
	if s.i != len(text) {
		return s.fail("more than one value")
	}
	return nil
}

// Of RFC 8785 Appendix B we read and write the integers of our range as given,
// and refuse every other row, on reading and on writing.
func TestRFC8785Numbers(t *testing.T) {
	for _, row := range rfc8785AppendixB {
		if row.text == "" {
			if _, err := canonicalObject(map[string]any{"n": math.Float64frombits(row.bits)}, "record", 2); err == nil {
				t.Errorf("%016x is written", row.bits)
			}
			for _, text := range []string{"NaN", "Infinity", "-Infinity"} {
				if scanAlone(text) == nil {
					t.Errorf("%s is read", text)
				}
			}
			continue
		}
		if f, err := strconv.ParseFloat(row.text, 64); err != nil || math.Float64bits(f) != row.bits && f != 0 {
			t.Fatalf("the table's own row %016x %s is wrong", row.bits, row.text)
		}
		if err := scanAlone(row.text); (err == nil) != row.ours {
			t.Errorf("reading %s: %v", row.text, err)
		}
		got, err := canonicalObject(map[string]any{"n": json.Number(row.text)}, "record", 2)
		if (err == nil) != row.ours || err == nil && string(got) != `{"n":`+row.text+`}` {
			t.Errorf("writing %s: %s, %v", row.text, got, err)
		}
	}
	// The ends of our range, and RFC 8785 erratum 7920: -0 is to be refused.
	for text, ours := range map[string]bool{
		"9007199254740991": true, "-9007199254740991": true, "-1": true, "10": true,
		"-0": false, "00": false, "01": false, "-01": false, "+1": false, "1.0": false, "1e3": false, "1E3": false, "-": false,
		"18446744073709551616": false, "99999999999999999999999999": false,
	} {
		if err := scanAlone(text); (err == nil) != ours {
			t.Errorf("reading %s: %v", text, err)
		}
		if _, err := canonicalObject(map[string]any{"n": json.RawMessage(text)}, "record", 2); (err == nil) != ours {
			t.Errorf("writing %s: %v", text, err)
		}
	}
}

// RFC 8785 section 3.2.3 sorts by UTF-16 code units. Its sample (given here from
// memory) has names we do not allow, and is refused; for the names we allow, sorting by bytes
// gives what the oracle's sorting by code units gives.
func TestRFC8785Ordering(t *testing.T) {
	sample := map[string]string{
		"\u20ac": "Euro Sign", "\r": "Carriage Return", "\ufb33": "Hebrew Letter Dalet With Dagesh", "1": "One",
		"\U0001f600": "Emoji: Grinning Face", "\u0080": "Control", "\u00f6": "Latin Small Letter O With Diaeresis",
	}
	for name, value := range sample {
		if _, err := canonicalObject(map[string]string{name: value}, "record", 2); err == nil {
			t.Errorf("a member named %q is written", name)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		names := rapid.SliceOfDistinct(rapid.StringMatching(`[a-z][a-z0-9_]{0,8}`), rapid.ID[string]).Draw(t, "names")
		members := make([]string, len(names))
		for i, name := range names {
			members[i] = fmt.Sprintf("%q:%d", name, i)
		}
		text := "{" + strings.Join(members, ",") + "}"
		want, err := jcs.Transform([]byte(text))
		if err != nil {
			t.Fatal(err)
		}
		got, err := canonicalObject(json.RawMessage(text), "record", 2)
		if err != nil || string(got) != string(want) {
			t.Fatalf("%s: %s (%v), want %s", text, got, err, want)
		}
	})
}

// drawValue draws a JSON value, mostly of our subset, as Go data.
func drawValue(t *rapid.T, nesting int) any {
	most := 7
	if nesting > 3 {
		most = 5
	}
	switch rapid.IntRange(0, most).Draw(t, "what") {
	case 0:
		return rapid.Bool().Draw(t, "bool")
	case 1, 2:
		return rapid.Int64Range(-MaxInteger, MaxInteger).Draw(t, "integer")
	case 3, 4:
		return rapid.String().Draw(t, "any text")
	case 5:
		return rapid.StringMatching(`[ -~\näöü°½-]{0,12}`).Draw(t, "text")
	case 6:
		list := make([]any, rapid.IntRange(0, 4).Draw(t, "length"))
		for i := range list {
			list[i] = drawValue(t, nesting+1)
		}
		return list
	default:
		return drawObject(t, nesting+1)
	}
}

func drawObject(t *rapid.T, nesting int) map[string]any {
	object := make(map[string]any)
	for range rapid.IntRange(0, 5).Draw(t, "members") {
		object[rapid.StringMatching(`[a-z][a-z0-9_]{0,6}`).Draw(t, "name")] = drawValue(t, nesting)
	}
	return object
}

// What our writer writes is what the oracle makes of it, and our scanner reads it.
func TestWriterIsCanonical(t *testing.T) {
	written := 0
	rapid.Check(t, func(t *rapid.T) {
		got, err := canonicalObject(drawObject(t, 0), "record", 2)
		if err != nil { // text that we refuse
			return
		}
		written++
		want, err := jcs.Transform(got)
		if err != nil || string(got) != string(want) {
			t.Fatalf("%s\nthe oracle (%v) has\n%s", got, err, want)
		}
		if err := scanAlone(string(got)); err != nil {
			t.Fatalf("%s: %v", got, err)
		}
	})
	if written < 20 {
		t.Errorf("only %d objects were written", written)
	}
}

// What our scanner accepts is what the oracle makes of it: nothing else has the
// same value. The texts are canonical ones with one place changed.
func TestScannerIsCanonical(t *testing.T) {
	accepted := 0
	rapid.Check(t, func(t *rapid.T) {
		text, err := canonicalObject(drawObject(t, 0), "record", 2)
		if err != nil {
			return
		}
		at := rapid.IntRange(0, len(text)-1).Draw(t, "at")
		piece := rapid.SampledFrom([]string{"", " ", "\n", "\t", "0", "-", "1", "a", "_", `"`, `\`, `\n`, `\u0041`, `\/`, `\t`, ",", ":", "{}", "[]", "true", "null", "é", "\x00", "\xff", "\u2028", "e1", ".0"}).Draw(t, "piece")
		changed := string(text[:at]) + piece + string(text[at+rapid.IntRange(0, 1).Draw(t, "cut"):])
		if scanAlone(changed) != nil || changed[0] != '{' {
			return
		}
		accepted++
		want, err := jcs.Transform([]byte(changed))
		if err != nil || changed != string(want) {
			t.Fatalf("we read %s\nthe oracle (%v) has\n%s", changed, err, want)
		}
	})
	if accepted < 5 {
		t.Errorf("only %d texts were accepted", accepted)
	}
}
