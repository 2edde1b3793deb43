package record

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

const (
	id1 = ID("1111111111111111111111111111111111111111111111111111111111111111")
	id2 = ID("2222222222222222222222222222222222222222222222222222222222222222")
	key = "AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA"
)

// whole is one record of each kind with every member filled in, as it stands in a body.
var whole = map[string]string{
	"farm":     `{"name":"Alder Farm"}`,
	"yard":     `{"name":"home","farm":"` + string(id1) + `"}`,
	"person":   `{}`,
	"schedule": `{"name":"disc-drill","text":"shedbook_schedule = 1\n","from":"2026-01-01"}`,
	"season": `{"act":"plan","name":"spring seeding 2026","work":"seeding","farms":["` + string(id1) + `"],"from":"2026-04-06","to":"2026-05-02","done":"2026-02-20",` +
		`"use":[{"kind":"disc-drill","counter":"area","amount":"1500 ac"}]}`,
	"machine": `{"done":"2026-03-01","key":"` + key + `","name":"drill","kind":"disc-drill","yard":"` + string(id1) + `","options":[{"name":"openers","value":"48"}],` +
		`"groups":[{"name":"squeaky","positions":["opener/3","opener/17"]}],"title":"made up","year":2014,"serial":"X1"}`,
	"shelf":    `{"done":"2026-03-01","key":"` + key + `","yard":"` + string(id1) + `"}`,
	"stock":    `{"machine":"` + string(id1) + `","done":"2026-03-01","kind":"disc-drill","part":"disc","hand":"left","act":"add","count":2,"serials":["a","b"]}`,
	"move":     `{"machine":"` + string(id1) + `","done":"2026-03-01","yard":"` + string(id2) + `"}`,
	"lend":     `{"machine":"` + string(id1) + `","done":"2026-03-01","act":"lent","condition":"ok"}`,
	"store":    `{"machine":"` + string(id1) + `","done":"2026-11-01","act":"in","slack":["springs"]}`,
	"sell":     `{"machine":"` + string(id1) + `","done":"2026-11-01"}`,
	"hitch":    `{"machine":"` + string(id1) + `","done":"2026-04-01T07:00","carrier":"` + string(id2) + `"}`,
	"assume":   `{"machine":"` + string(id1) + `","done":"2026-03-01","good":true,"items":[{"name":"disc","positions":["opener/1-48"],"hand":"left","value":"6 in","worn":"50 %","used":"600 ac"}]}`,
	"override": `{"machine":"` + string(id1) + `","done":"2026-03-01","path":"job.grease.when.1.every","value":"\"200 h\"","page":"operator's manual, page 41","from":"2026-01-01"}`,
	"counter":  `{"machine":"` + string(id1) + `","done":"2026-03-01","acts":[{"counter":"area","act":"replaced","value":"5 ac","last":"1812 ac","span":"trip"}]}`,
	"adjust": `{"machine":"` + string(id1) + `","done":"2026-04-01T07:40","by":["` + string(id2) + `"],"counters":[{"counter":"area","at":"1812 ac"}],"crop":"barley","field":"long hill","ground":"wet",` +
		`"minutes":30,"setup":"spring","changes":[{"setting":"depth","positions":["opener/1-16"],"to":"7","by":"+1","said":"left-wing"},{"setting":"coupling","to":"carry-both"}]}`,
	"measure": `{"machine":"` + string(id1) + `","done":"2026-04-01","reading":"catch","values":[{"positions":["nozzle/4"],"found":"15.5 floz","left":"22.4 floz"},` +
		`{"positions":["nozzle/9"],"hand":"left","cannot":"reach"}],"condition":[{"name":"pressure","value":"40 psi"}],"with":"jug and watch","said":"all"}`,
	"swap": `{"machine":"` + string(id1) + `","done":"2026-04-01","part":"disc","positions":["opener/12"],"hand":"left","act":"new","why":"worn","from":"` + string(id2) + `","to":"` + string(id2) + `",` +
		`"serials":["s"],"used":"100 ac","said":"12"}`,
	"did": `{"machine":"` + string(id1) + `","done":"2026-04-01","job":"torque-check","positions":["opener/1-8","opener/10-48"],"skipped":["opener/9"],` +
		`"results":[{"positions":["opener/14"],"word":"moved"},{"value":"120 lbf.ft"}],"torque":"150 lbf.ft","outcome":"pass","until":"2027-01-01","fills":[{"of":"engine oil","amount":"22 L","top_up":true}],"said":"but 9"}`,
	"fault": `{"machine":"` + string(id1) + `","done":"2026-04-17T16:00","positions":["opener/9"],"part":"hub-bearing","severity":"stop","tied_up":true,"unfit":true,"needs":[{"what":"hub","count":1}],"lost":"2 h","said":"9"}`,
	"repair": `{"machine":"` + string(id1) + `","done":"2026-04-17","closes":["` + string(id2) + `"],"positions":["opener/9"],"part":"hub-bearing","used":[{"what":"hub","count":1}],` +
		`"temporary":true,"cause":"worn","lost":"2 h","said":"9"}`,
	"note":    `{"machine":"` + string(id1) + `","done":"2026-04-17","positions":["opener/9"],"said":"9"}`,
	"correct": `{"machine":"` + string(id1) + `","entry":"` + string(id2) + `","as":"sell","record":{"machine":"` + string(id1) + `","done":"2026-11-01"}}`,
	"strike":  `{"machine":"` + string(id1) + `","entry":"` + string(id2) + `"}`,
}

// TestDecodeKeepsEverything decodes one full record of each kind and writes it back: no member is lost or changed.
func TestDecodeKeepsEverything(t *testing.T) {
	if len(whole) != len(Kinds()) {
		t.Fatalf("%d examples for %d kinds", len(whole), len(Kinds()))
	}
	for _, kind := range Kinds() {
		t.Run(kind, func(t *testing.T) {
			r, err := Decode(kind, []byte(whole[kind]))
			if err != nil {
				t.Fatal(err)
			}
			if r.Kind() != kind {
				t.Errorf("kind %q", r.Kind())
			}
			back, err := Encode(r)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(object(t, whole[kind]), object(t, string(back))); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func object(t *testing.T, text string) any {
	t.Helper()
	var v any
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		t.Fatal(err)
	}
	return v
}

// TestDecodeNewer: an unknown kind or member, at any depth, is newer, not wrong and not dropped.
func TestDecodeNewer(t *testing.T) {
	for _, c := range []struct{ kind, raw, want string }{
		{"teleport", `{}`, `entry of kind "teleport": newer shedbook needed`},
		{"farm", `{"name":"Alder","region":"north"}`, `farm entry with "region": newer shedbook needed`},
		{"did", strings.Replace(whole["did"], `"word":"moved"`, `"word":"moved","by_hand":true`, 1), `did entry with "by_hand": newer shedbook needed`},
		{"correct", strings.Replace(whole["correct"], `"done"`, `"newly":1,"done"`, 1), `sell entry with "newly": newer shedbook needed`},
	} {
		_, err := Decode(c.kind, []byte(c.raw))
		var newer *NewerError
		if !errors.As(err, &newer) || newer.Error() != c.want {
			t.Errorf("%s: got %v, want newer: %s", c.kind, err, c.want)
		}
	}
}

// TestDecodeRefuses gives the reason of each refusal.
func TestDecodeRefuses(t *testing.T) {
	sub := func(kind, old, new string) string {
		if !strings.Contains(whole[kind], old) {
			t.Fatalf("%s has no %s", kind, old)
		}
		return strings.Replace(whole[kind], old, new, 1)
	}
	for _, c := range []struct{ kind, raw, want string }{
		{"farm", `{"name":" "}`, "farm entry: name: missing"},
		{"farm", `{"name":"a"} {}`, "farm entry: something follows the record"},
		{"yard", sub("yard", string(id1), "abc"), `yard entry: farm: "abc" is no entry id`},
		{"adjust", sub("adjust", `"2026-04-01T07:40"`, `"2026-04-01T07:40Z"`), `adjust entry: "2026-04-01T07:40Z" is no date: write 2026-04-01 or 2026-04-01T16:05`},
		{"adjust", sub("adjust", `"2026-04-01T07:40"`, `"2026-02-30"`), `adjust entry: "2026-02-30" is no date: write 2026-04-01 or 2026-04-01T16:05`},
		{"adjust", sub("adjust", `"opener/1-16"`, `"opener/9","opener/1-8"`), `adjust entry: positions ["opener/9" "opener/1-8"] are not in their merged form ["opener/1-9"]`},
		{"adjust", sub("adjust", `"opener/1-16"`, `"opener/16-1"`), `adjust entry: "opener/16-1" runs backwards`},
		{"adjust", sub("adjust", `"opener/1-16"`, `"opener/1-100000000"`), `adjust entry: "opener/1-100000000": "100000000" is no position number from 1 to 9999`},
		{"adjust", sub("adjust", `["opener/1-16"]`, `[]`), `adjust entry: an empty list of positions: leave the member out`},
		{"measure", sub("measure", `"cannot":"reach"`, `"cannot":"reach","found":"3 in"`), "measure entry: values: a reading has a value or a reason why not"},
		{"did", sub("did", `"150 lbf.ft"`, `"-150 lbf.ft"`), "did entry: torque: -150 lbf.ft is below zero"},
		{"fault", sub("fault", `"severity":"stop"`, `"severity":"urgent"`), `fault entry: severity: "urgent" is none of stop, soon, winter, tidy`},
		{"swap", sub("swap", `"act":"new"`, `"act":"exchange"`), "swap entry: with: an exchange names both places, other swaps name one"},
		{"swap", sub("swap", `"act":"new"`, `"act":"exchange","with":["opener/12"]`), "swap entry: with: 1 places against 1, none of them the same"},
		{"machine", sub("machine", key, "AAAA"), "machine entry: key: no 32 bytes in base64url"},
		{"machine", sub("machine", `"done"`, `"machine":"`+string(id1)+`","done"`), "machine entry: machine: an entry that adds one cannot name one"},
		{"override", sub("override", `"page":"operator's manual, page 41",`, ""), "override entry: page: where the manual says so is missing"},
		{"correct", sub("correct", `"as":"sell"`, `"as":"strike"`), "correct entry: as: a strike entry cannot be corrected"},
		{"correct", sub("correct", `"record":{"machine":"`+string(id1), `"record":{"machine":"`+string(id2)), "correct entry: record.machine: a correction stays with its machine"},
	} {
		_, err := Decode(c.kind, []byte(c.raw))
		if err == nil || err.Error() != c.want {
			t.Errorf("%s: got %v\nwant %s", c.kind, err, c.want)
		}
	}
}

// TestDecodePrivate holds costs and papers to their forms.
func TestDecodePrivate(t *testing.T) {
	good := `{"name":"Wren Alder","text":"hub rough","who":"Tern Valley Repairs","costs":[{"for":"parts","amount":"120.50 EUR"}],` +
		`"papers":[{"digest":"` + string(id1) + `","name":"receipt.pdf","type":"application/pdf","size":12}],` +
		`"entered":{"person":"` + string(id1) + `","phone":"barn phone"}}`
	p, err := DecodePrivate([]byte(good))
	if err != nil {
		t.Fatal(err)
	}
	back, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(object(t, good), object(t, string(back))); diff != "" {
		t.Error(diff)
	}
	for _, c := range []struct{ raw, want string }{
		{`{"costs":[{"for":"parts","amount":"1,200"}]}`, `costs.amount: "1,200" is no amount of money: write 120.50 or 120.50 EUR`},
		{`{"papers":[{"digest":"x","name":"n","type":"t","size":1}]}`, `papers.digest: "x" is no digest`},
		{`{"entered":{"person":"wren","phone":"barn phone"}}`, `entered.person: "wren" is no id`},
		{`{"entered":{"person":"` + string(id1) + `","phone":" "}}`, `entered.phone: missing`},
		{`{"entered":{"person":"` + string(id1) + `","phone":"barn phone","key":"x"}}`, `private entry with "key": newer shedbook needed`},
		{`{"colour":"red"}`, `private entry with "colour": newer shedbook needed`},
	} {
		if _, err := DecodePrivate([]byte(c.raw)); err == nil || err.Error() != c.want {
			t.Errorf("got %v, want %s", err, c.want)
		}
	}
}

// TestPositionsLaws: the stored form is a function of the set, reads back to it, and the set operations are those of sets.
func TestPositionsLaws(t *testing.T) {
	place := rapid.Custom(func(t *rapid.T) Position {
		if rapid.IntRange(0, 4).Draw(t, "named") == 0 {
			return Position{Noun: "wheel", Name: rapid.SampledFrom([]string{"left-front", "right-front", "left-rear"}).Draw(t, "name")}
		}
		return Position{Noun: rapid.SampledFrom([]string{"opener", "row"}).Draw(t, "noun"), Number: rapid.IntRange(1, 30).Draw(t, "n")}
	})
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.SliceOf(place).Draw(t, "a"), rapid.SliceOf(place).Draw(t, "b")
		s, o := NewPositions(a...), NewPositions(b...)
		in := map[Position]bool{}
		for _, p := range a {
			in[p] = true
		}
		other := map[Position]bool{}
		for _, p := range b {
			other[p] = true
		}
		if s.Len() != len(in) || len(s.All()) != len(in) {
			t.Fatalf("%d places, want %d", s.Len(), len(in))
		}
		back, err := ParsePositions(s.Strings())
		if err != nil || !back.Equal(s) {
			t.Fatalf("%v reads back as %v (%v)", s, back, err)
		}
		for _, p := range append(append([]Position{}, a...), b...) {
			if s.Has(p) != in[p] || s.Without(o).Has(p) != (in[p] && !other[p]) || s.Union(o).Has(p) != (in[p] || other[p]) {
				t.Fatalf("set operations disagree at %v", p)
			}
		}
		if again := NewPositions(rapid.Permutation(a).Draw(t, "again")...); again.String() != s.String() {
			t.Fatalf("%v and %v", again, s)
		}
	})
}

// TestDoneOrder: a day with no time of day comes after every minute of that day.
func TestDoneOrder(t *testing.T) {
	order := []Done{"2026-03-31", "2026-04-01T00:00", "2026-04-01T16:05", "2026-04-01T23:59", "2026-04-01", "2026-04-02T00:00"}
	for i := range order {
		for j := range order {
			want := 0
			if i < j {
				want = -1
			} else if i > j {
				want = 1
			}
			if got := order[i].Compare(order[j]); got != want {
				t.Errorf("%s against %s: %d, want %d", order[i], order[j], got, want)
			}
		}
	}
}

// TestParseDone takes RFC 3339 full-date (section 5.6) with an hour and minute at most, and no offset.
func TestParseDone(t *testing.T) {
	for _, good := range []string{"2026-04-01", "2024-02-29", "2026-04-01T00:00", "2026-04-01T23:59"} {
		if _, err := ParseDone(good); err != nil {
			t.Errorf("%s: %v", good, err)
		}
	}
	for _, bad := range []string{"", "2026-4-1", "2026-02-29", "2026-13-01", "2026-04-01T24:00", "2026-04-01T7:40", "2026-04-01T07:40:00", "2026-04-01T07:40Z", "2026-04-01 07:40", "1492-01-01", "today"} {
		if d, err := ParseDone(bad); err == nil {
			t.Errorf("%q read as %s", bad, d)
		}
	}
}

// FuzzDecode: nothing panics, and what decodes is written back to what decodes to the same bytes again.
func FuzzDecode(f *testing.F) {
	for kind, raw := range whole {
		f.Add(kind, []byte(raw))
	}
	f.Fuzz(func(t *testing.T, kind string, raw []byte) {
		r, err := Decode(kind, raw)
		if err != nil {
			return
		}
		once, err := Encode(r)
		if err != nil {
			t.Fatal(err)
		}
		again, err := Decode(kind, once)
		if err != nil {
			t.Fatalf("%s does not read back: %v", once, err)
		}
		twice, err := Encode(again)
		if err != nil {
			t.Fatal(err)
		}
		if string(once) != string(twice) {
			t.Fatalf("%s became %s", once, twice)
		}
	})
}
