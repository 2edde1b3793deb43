package schedule

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/pelletier/go-toml/v2"
	"pgregory.net/rapid"
)

// Dotted keys, headers and inline tables are three ways of writing one thing (TOML 1.0.0, "Keys", "Array of Tables", "Inline Table").
func TestWaysOfWriting(t *testing.T) {
	inline := mustFit(t, header+`
[counter.hours]
unit = "h"
[reading.r]
unit = "in"
limit = { min = "1 in", max = "2 in" }
[job.j]
when = [{ every = "5 h", factors = [{ by = "1/2", while = { ground = "wet" } }] }, { past = "r" }]
`)
	headers := mustFit(t, header+`
[counter.hours]
unit = "h"
[reading.r]
unit = "in"
[reading.r.limit]
min = "1 in"
max = "2 in"
[job.j]
[[job.j.when]]
every = "5 h"
[[job.j.when.factors]]
by = "1/2"
while.ground = "wet"
[[job.j.when]]
past = "r"
`)
	dotted := mustFit(t, `counter.hours.unit = "h"
reading.r = { unit = "in", limit.min = "1 in", limit.max = "2 in" }
job.j.when = [
  { every = ["5 h"], # one may stand in brackets
    factors = { by = 0.5, while = [{ ground = "wet" }] }, },
  { past = "r" },
]
`+header)
	same := []cmp.Option{cmpopts.IgnoreUnexported(Schedule{}), cmp.Comparer(sameRat), cmpopts.IgnoreFields(Schedule{}, "Text")}
	if diff := cmp.Diff(inline.Schedule, headers.Schedule, same...); diff != "" {
		t.Errorf("inline and headers:\n%s", diff)
	}
	if diff := cmp.Diff(inline.Schedule, dotted.Schedule, same...); diff != "" {
		t.Errorf("inline and dotted:\n%s", diff)
	}
}

// Law: the one-line form in which values are shown is TOML that the library reads back to the same text.
func TestFormatTextReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.String().Draw(t, "text")
		var got struct{ A string }
		if err := toml.Unmarshal([]byte("A = "+formatText(want)), &got); err != nil || got.A != want {
			t.Fatalf("%q is written %s, read back as %q, %v", want, formatText(want), got.A, err)
		}
	})
}

func TestFormat(t *testing.T) {
	root, err := parseTree("t.toml", []byte("a = { b = [1, 2.5, true, \"x\\ty\"], \"c d\" = {}, \"\" = [] }\n"))
	if err != nil {
		t.Fatal(err)
	}
	want := `{ b = [1, 2.5, true, "x\ty"], "c d" = {}, "" = [] }`
	if got := root.items["a"].format(); got != want {
		t.Errorf("%s, want %s", got, want)
	}
}
