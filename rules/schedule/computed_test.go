package schedule

import "testing"

// caught is a calibration on which the cases below build.
const caught = prelude + `[option.round]
type = "amount"
unit = "ft"
default = "8 ft"
[setting.spread]
type = "amount"
unit = "in"
[setting.gate]
type = "choice"
choices = ["open", "closed"]
[reading.caught]
unit = "lb"
[reading.turns]
unit = "turns"
[reading.state]
grades = ["ok", "bad"]
bad_from = "bad"
[reading.rate]
unit = "lb/ac"
`

func TestProductMistakes(t *testing.T) {
	product := func(rest string) string { return caught + "computed = { how = \"product\", " + rest + " }\n" }
	testMistakes(t, []mistake{
		{"makes something else", product(`§from = ["caught"], by = ["turns", "=round"]`),
			[]string{`computed of reading "rate": lb/ac is a mass per area, and that is not what these make: see that from over by gives the reading's unit`}},
		{"no such reading", product(`from = [§"cought"], by = ["turns", "=round", "7.5 in"]`), []string{`no reading or setting "cought": did you mean "caught"?`}},
		{"no such option", product(`from = ["caught"], by = ["turns", §"=rond", "7.5 in"]`), []string{`no option "rond": did you mean "round" or "rows"?`}},
		{"no amount", product(`from = ["caught"], by = ["turns", §"8 fet"]`), []string{`computed of reading "rate": "8 fet": unknown unit "fet": did you mean "ft"?`}},
		{"no reading in it", product(`§from = ["2 lb"], by = ["1 ac"]`),
			[]string{`computed of reading "rate" names no reading: name at least one reading: when it is taken the product is worked out`}},
		{"by nothing", product(`§from = ["caught"], by = ["turns", "0 ft", "8 ft"]`),
			[]string{`computed of reading "rate": cannot divide by 0 ft: see that from over by gives the reading's unit`}},
		{"no from", product(`by = ["turns"]`)[:len(caught)] + "computed = §{ how = \"product\", by = [\"turns\"] }\n",
			[]string{`computed of reading "rate" has no from: write from = ["caught"], and by = ["turns", "8 ft"] for what it is divided by`}},
		{"grades", product(`from = ["caught", §"state"], by = ["turns", "8 ft", "7.5 in"]`), []string{`reading "state" is told in grades: name one that is told in amounts`}},
		{"words", product(`from = ["caught"], by = ["turns", "8 ft", §"gate"]`), []string{`setting "gate" is a choice of words: name one that is set in amounts`}},
		{"other places", product(`from = ["caught"], by = ["turns", "8 ft", §"wear"]`), []string{`reading "wear" is not of the same places as "rate": give both the same of`}},
		{"by of a sum", caught + "computed = { how = \"sum\", from = [\"caught\", \"caught\"], §by = [\"turns\"] }\n",
			[]string{`by of computed of reading "rate" goes with how = "product" only: take it out`}},
		{"an amount in a sum", caught + "computed = { how = \"sum\", from = [\"caught\", §\"2 lb\"] }\n",
			[]string{`computed of reading "rate" holds the amount 2 lb: name a reading or a setting; amounts go with how = "product"`}},
	})
}

// What a product is made of, in words; and options are put in for each machine.
func TestProductWords(t *testing.T) {
	text := caught + "computed = { how = \"product\", from = [\"caught\"], by = [\"turns\", \"=round\", \"spread\", 4] }\n"
	f := mustFit(t, text, option("round", "7.9 ft"))
	r, _ := f.Reading("rate")
	if got, want := r.Computed.String(), "caught / (turns x 7.9 ft x spread x 4)"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got := r.Computed.Things(); len(got) != 3 {
		t.Errorf("things %v", got)
	}
	checkWhole(t, f)
	for how, want := range map[string]string{"difference": "a less b", "smaller": "the smaller of a and b", "sum": "a + b", "ratio": "a / b", "product": "a x b"} {
		if got := (&Computed{How: how, From: []string{"a", "b"}}).String(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
