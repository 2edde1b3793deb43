package record

import (
	"encoding/json"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Law: strings and lists of them are read as package json reads them, and refused where it refuses them.
func TestLawTextIsReadAsJSONReadsIt(t *testing.T) {
	agree := func(fail func(string, ...any), b []byte) {
		var s string
		wantErr := json.Unmarshal(b, &s)
		if got, err := textOf(b); (err == nil) != (wantErr == nil) || wantErr == nil && got != s {
			fail("textOf(%q) = %q, %v; package json reads %q, %v", b, got, err, s, wantErr)
		}
		var list []string
		wantErr = json.Unmarshal(b, &list)
		if got, err := textsOf(b); (err == nil) != (wantErr == nil) || wantErr == nil && !slices.Equal(got, list) {
			fail("textsOf(%q) = %q, %v; package json reads %q, %v", b, got, err, list, wantErr)
		}
	}
	for _, s := range []string{``, `"`, `""`, `"a`, `"a"b`, `"a" `, ` "a"`, `"\u0061"`, `"a\"b"`, "\"a\nb\"", "\"a\x7fb\"", "\"\xff\"", `"é"`, `null`, `1`, `[`, `[]`, `["`,
		`["a"`, `["a",`, `["a",]`, `["a"]`, `["a"]]`, `["a" ,"b"]`, `["a","b"]`, `["a","\u0062"]`, `["a",1]`, `["a"null]`, `[null]`, `["a"]["b"]`} {
		agree(t.Errorf, []byte(s))
	}
	piece := rapid.SampledFrom([]string{`"`, `"a"`, `"5.25 in"`, `"opener/1-48"`, `\`, `,`, `[`, `]`, ` `, `é`, "\x01", "\xff", `null`, `\"`, `""`})
	rapid.Check(t, func(t *rapid.T) {
		var b []byte
		for _, p := range rapid.SliceOfN(piece, 0, 9).Draw(t, "pieces") {
			b = append(b, p...)
		}
		agree(t.Fatalf, b)
		agree(t.Fatalf, []byte("["+string(b)+"]"))
		quoted, err := json.Marshal(rapid.String().Draw(t, "text"))
		if err != nil {
			t.Fatal(err)
		}
		agree(t.Fatalf, quoted)
		agree(t.Fatalf, []byte(`["a",`+string(quoted)+`]`))
	})
}

// BenchmarkDecode reads a measurement of 48 places, as a family enters them.
func BenchmarkDecode(b *testing.B) {
	m := &Measure{Work: Work{Machine: ID("7f3a" + "0000000000000000000000000000000000000000000000000000000000aa"), Done: "2026-04-01T16:05"}, Reading: "gap"}
	for n := range 48 {
		at, err := ParsePositions([]string{Position{Noun: "opener", Number: n + 1}.String()})
		if err != nil {
			b.Fatal(err)
		}
		v, err := ParseValue("0.25 in")
		if err != nil {
			b.Fatal(err)
		}
		m.Values = append(m.Values, Measured{Positions: at, Found: v})
	}
	raw, err := Encode(m)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := Decode("measure", raw); err != nil {
			b.Fatal(err)
		}
	}
}
