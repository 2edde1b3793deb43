package main

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// lastID is the short id of the entry recorded last, from the answer.
func lastID(t *testing.T, answer string) string {
	t.Helper()
	i := strings.LastIndex(answer, " [")
	if i < 0 || len(answer) < i+11 || answer[i+10] != ']' {
		t.Fatalf("no id in the answer:\n%s", answer)
	}
	return answer[i+2 : i+10]
}

// Each line is recorded, then corrected in the words of a person; what the correction holds is written out by hand: the whole new record, in which only
// what was said differs. "DONE" is the minute of recording.
func TestCorrect(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	s.must(`shedbook adjust drill depth=6 --done 2026-03-01`)
	home := s.idOfName("yard", "home")
	for _, test := range []struct{ line, words, record, text string }{
		{`did drill grease`, `but 14`, `{"job":"grease","positions":["opener/1-13","opener/15-48"],"said":"but 14"}`, ""},
		{`did drill grease but 14`, `but 31`, `{"job":"grease","positions":["opener/1-13","opener/15-30","opener/32-48"],"said":"but 31"}`, ""},
		{`did drill grease but 14`, `1-24`, `{"job":"grease","positions":["opener/1-24"],"said":"1-24"}`, ""},
		{`did drill grease 1-24`, `--done 2026-03-30 --minutes 40`, `{"done":"2026-03-30","minutes":40,"job":"grease","positions":["opener/1-24"],"said":"1-24"}`, ""},
		{`did drill grease 1-23`, `torque-check --moved 3`, `{"job":"torque-check","positions":["opener/1-23"],"said":"1-23","results":[{"positions":["opener/3"],"word":"moved"},{"positions":["opener/1-2","opener/4-23"],"word":"none-moved"}]}`, ""},
		{`did drill torque-check --moved 14,31`, `--skipped 14`, `{"job":"torque-check","positions":["opener/1-13","opener/15-48"],"skipped":["opener/14"],"results":[{"positions":["opener/31"],"word":"moved"},{"positions":["opener/1-13","opener/15-30","opener/32-48"],"word":"none-moved"}]}`, ""},
		{`did drill grease 2 --by Sam --note "stiff"`, `--by Wren`, `{"job":"grease","positions":["opener/2"],"said":"2"}`, "stiff"},
		{`did drill grease 3 --note "stiff"`, `--note "very stiff"`, `{"job":"grease","positions":["opener/3"],"said":"3"}`, "very stiff"},
		{`measure drill 12 disc-reach 5.3`, `5.4`, `{"reading":"disc-reach","values":[{"positions":["opener/12"],"found":"5.4 in"}],"said":"12"}`, ""},
		{`measure drill 12 disc-reach 5.2`, `5 1/4`, `{"reading":"disc-reach","values":[{"positions":["opener/12"],"found":"5.25 in"}],"said":"12"}`, ""},
		{`measure drill 12 disc-reach 5.1`, `opener/13`, `{"reading":"disc-reach","values":[{"positions":["opener/13"],"found":"5.1 in"}],"said":"opener/13"}`, ""},
		{`measure drill 12 disc-reach 5`, `13 disc-reach 5.5`, `{"reading":"disc-reach","values":[{"positions":["opener/13"],"found":"5.5 in"}],"said":"13"}`, ""},
		{`measure drill 12 disc-reach 4.9`, `--left 5.9`, `{"reading":"disc-reach","values":[{"positions":["opener/12"],"found":"4.9 in","left":"5.9 in"}],"said":"12"}`, ""},
		{`measure drill 1-4 disc-reach --values 5,5.1,5.2,5.3`, `but 3`, `{"reading":"disc-reach","values":[{"positions":["opener/1"],"found":"5 in"},{"positions":["opener/2"],"found":"5.1 in"},{"positions":["opener/4"],"found":"5.3 in"}],"said":"but 3"}`, ""},
		{`measure drill disc-reach 1=5 2=5.1 3=5.2 9=-`, `disc-reach 2=6 9=5.125 --done 2026-03-21`, `{"done":"2026-03-21","reading":"disc-reach","values":[{"positions":["opener/1"],"found":"5 in"},{"positions":["opener/2"],"found":"6 in"},{"positions":["opener/3"],"found":"5.2 in"},{"positions":["opener/9"],"found":"5.125 in"}]}`, ""},
		{`measure drill disc-reach 1=5 2=5.1 3=5.2`, `2=6, 3=7 1/8`, `{"reading":"disc-reach","values":[{"positions":["opener/1"],"found":"5 in"},{"positions":["opener/2"],"found":"6 in"},{"positions":["opener/3"],"found":"7.125 in"}]}`, ""},
		{`measure drill 1-3 disc-reach --values 5,5.1,5.3`, `opener/2 disc-reach 6`, `{"reading":"disc-reach","values":[{"positions":["opener/1"],"found":"5 in"},{"positions":["opener/2"],"found":"6 in"},{"positions":["opener/3"],"found":"5.3 in"}],"said":"1-3"}`, ""},
		{`measure drill 1-3 disc-reach --values 5,5.1,5.4`, `opener/2-3 --left 6`, `{"reading":"disc-reach","values":[{"positions":["opener/1"],"found":"5 in"},{"positions":["opener/2"],"found":"5.1 in","left":"6 in"},{"positions":["opener/3"],"found":"5.4 in","left":"6 in"}],"said":"1-3"}`, ""},
		{`measure drill 1-3 disc-reach --values 5,5.1,5.5`, `opener/4=6`, `{"reading":"disc-reach","values":[{"positions":["opener/1"],"found":"5 in"},{"positions":["opener/2"],"found":"5.1 in"},{"positions":["opener/3"],"found":"5.5 in"},{"positions":["opener/4"],"found":"6 in"}],"said":"1-3"}`, ""},
		{`measure drill 1-3 disc-reach --values 5,5.1,5.6`, `opener/2`, `{"reading":"disc-reach","values":[{"positions":["opener/2"],"found":"5.1 in"}],"said":"opener/2"}`, ""},
		{`adjust drill left-wing depth=5`, `depth=7`, `{"changes":[{"setting":"depth","positions":["opener/1-16"],"to":"7","said":"left-wing"}]}`, ""},
		{`adjust drill left-wing depth=4`, `8`, `{"changes":[{"setting":"depth","positions":["opener/1-16"],"to":"8","said":"left-wing"}]}`, ""},
		{`adjust drill left-wing depth=3 --done 2026-03-02`, `+2`, `{"done":"2026-03-02","changes":[{"setting":"depth","positions":["opener/1-16"],"to":"8","by":"+2","said":"left-wing"}]}`, ""},
		{`adjust drill left-wing depth=2`, `but 3`, `{"changes":[{"setting":"depth","positions":["opener/1-2","opener/4-16"],"to":"2","said":"left-wing"}]}`, ""},
		{`adjust drill left-wing depth=2 --done 2026-03-04`, `opener/40`, `{"done":"2026-03-04","changes":[{"setting":"depth","positions":["opener/40"],"to":"2","said":"opener/40"}]}`, ""},
		{`adjust drill squeaky depth=2 gauge-shims=1`, `gauge-shims=0`, `{"changes":[{"setting":"depth","positions":["opener/3","opener/17"],"to":"2","said":"squeaky"},{"setting":"gauge-shims","positions":["opener/3","opener/17"],"to":"0","said":"squeaky"}]}`, ""},
		{`swap drill 5 disc`, `--why worn`, `{"part":"disc","act":"new","why":"worn","positions":["opener/5"],"said":"5"}`, ""},
		{`swap drill 6 disc`, `opener/7`, `{"part":"disc","act":"new","positions":["opener/7"],"said":"opener/7"}`, ""},
		{`swap drill 8 disc`, `--with 9`, `{"part":"disc","act":"exchange","positions":["opener/8"],"with":["opener/9"],"said":"8"}`, ""},
		{`swap drill 10 disc --with 11`, `--turned`, `{"part":"disc","act":"turned","positions":["opener/10"],"said":"10"}`, ""},
		{`fault drill 23 "hubb rough" --winter`, `"hub rough" --stop`, `{"severity":"stop","positions":["opener/23"],"said":"23"}`, "hub rough"},
		{`fault drill 24 "hub rough" --tied-up`, `--tied-up=false`, `{"severity":"soon","positions":["opener/24"],"said":"24"}`, "hub rough"},
		{`fault drill 24 "boot bent"`, `opener/25 --lost 1h`, `{"severity":"soon","positions":["opener/25"],"said":"opener/25","lost":"1 h"}`, "boot bent"},
		{`repair tractor "hose" --temporary`, `"new hose" --temporary=false --used hose`, `{"used":[{"what":"hose","count":1}]}`, "new hose"},
		{`note drill "swaped"`, `swapped`, `{}`, "swapped"},
		{`counter drill 1812`, `1813`, `{"acts":[{"counter":"area","act":"at","value":"1813 ac"}]}`, ""},
		{`counter drill trip-area reset --last 300 --done 2026-03-03`, `--last 310`, `{"done":"2026-03-03","acts":[{"counter":"trip-area","act":"reset","last":"310 ac"}]}`, ""},
		{`assume drill2 disc worn=50%`, `disc worn=40%`, `{"items":[{"name":"disc","worn":"40 %"}]}`, ""},
		{`assume drill2 depth=6`, `good`, `{"good":true,"items":[{"name":"depth","value":"6"}]}`, ""},
		{`machine move drill creek`, `home`, `{"yard":"HOME"}`, ""},
		{`shelf add disc 12 --yard home`, `10`, `{"kind":"disc-drill","part":"disc","act":"add","count":10}`, ""},
	} {
		t.Run(test.line+" / "+test.words, func(t *testing.T) {
			s.t = t
			s.now = s.now.Add(60e9)
			done := s.now.Format("2006-01-02T15:04")
			answer, _, _ := strings.Cut(s.must("shedbook -q "+test.line+" --yes"), "\n")
			id := lastID(t, answer)
			out := s.must("shedbook correct " + id + " " + test.words + " --yes")
			all := s.entries()
			got := all[len(all)-1]
			if of, _ := got.record["entry"].(string); got.kind != "correct" || !strings.HasPrefix(of, id) {
				t.Fatalf("%s of %v, want a correction of %s", got.kind, got.record["entry"], id)
			}
			record := got.record["record"].(map[string]any)
			delete(record, "machine")
			var want map[string]any
			if err := json.Unmarshal([]byte(strings.ReplaceAll(test.record, "HOME", home)), &want); err != nil {
				t.Fatal(err)
			}
			if want["done"] == nil {
				want["done"] = done
			}
			if d := cmp.Diff(want, record); d != "" {
				t.Error(d)
			}
			if text := got.text; text != test.text && !(text == "" && all[len(all)-2].text == test.text) { // unchanged words stay with the entry
				t.Errorf("words %q, want %q", text, test.text)
			}
			if !strings.HasPrefix(out, "recorded: corrected entry "+id) || !strings.Contains(out, "\n  was: ") || !strings.Contains(out, "\n  now: ") {
				t.Errorf("before and after are not shown:\n%s", out)
			}
		})
	}
}

// A value said of one hand leaves the other as it stands, also where the entry said both in one.
func TestCorrectHand(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	s.must(`shedbook machine add pair disc-drill --yard home --options openers=8,discs=pair`)
	id := lastID(t, strings.SplitN(s.must(`shedbook measure pair 1-2 disc-reach 5`), "\n", 2)[0])
	s.must(`shedbook correct ` + id + ` opener/2 disc-reach 5.5 --hand left`)
	all := s.entries()
	want := []any{
		map[string]any{"positions": []any{"opener/1"}, "found": "5 in"},
		map[string]any{"positions": []any{"opener/2"}, "hand": "left", "found": "5.5 in"},
		map[string]any{"positions": []any{"opener/2"}, "hand": "right", "found": "5 in"},
	}
	if d := cmp.Diff(want, all[len(all)-1].record["record"].(map[string]any)["values"]); d != "" {
		t.Error(d)
	}
}

// What lies within a range changes neither of its ends: the answer says which place changed. Of one place the two sentences say it.
func TestCorrectShowsWhatChanged(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	s.must(`shedbook machine add pair disc-drill --yard home --options openers=8,discs=pair`)
	for _, test := range []struct{ line, words, want string }{
		{`measure pair disc-reach 1=6.1 2=6 3=5.9 4=5.5`, `2=5.7`, "changed: opener 2 left: was 6 in, now 5.7 in; opener 2 right: was 6 in, now 5.7 in"},
		{`measure pair 5 disc-reach 6`, `opener/5 disc-reach 5.5 --hand left`, "changed: opener 5 left: was 6 in, now 5.5 in"},
		{`measure drill disc-reach 1=6 2=5.5 --done 2026-03-02`, `3=5.7 --done 2026-03-03`, "changed: opener 3: new, 5.7 in"},
		{`measure drill disc-reach 1=6 2=5.9 3=5.5 --done 2026-03-04`, `2=-`, "changed: opener 2: was 5.9 in, now not reached"},
		{`measure drill 12 disc-reach 6`, `12=5.8`, ""},
		{`measure drill 13 disc-reach 6 --with tape`, `--done 2026-03-05`, ""},
	} {
		id := lastID(t, strings.SplitN(s.must("shedbook "+test.line), "\n", 2)[0])
		out := s.must("shedbook correct " + id + " " + test.words + " --yes")
		_, changed, _ := strings.Cut(strings.ReplaceAll(out, "\n    ", " "), "changed: ")
		got, _, _ := strings.Cut(before("changed: ", changed), "\n")
		if got != test.want {
			t.Errorf("%s, then %s: %q, want %q, of\n%s", test.line, test.words, got, test.want, out)
		}
	}
}

// A correction of a correction corrects the entry itself; the last one holds.
func TestCorrectAgain(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	id := lastID(t, strings.SplitN(s.must(`shedbook did drill grease`), "\n", 2)[0])
	first := lastID(t, strings.SplitN(s.must(`shedbook correct `+id+` but 14`), "\n", 2)[0])
	out := s.must(`shedbook correct ` + first + ` but 31`)
	if want := "  was: greased openers 1-48 but 14 on drill, Wed 2026-04-01 18:00, by Wren Alder\n  now: greased openers 1-48 but 14, 31 on drill, Wed 2026-04-01 18:00, by Wren Alder\n"; !strings.Contains(out, want) {
		t.Errorf("got\n%swant\n%s", out, want)
	}
	all := s.entries()
	if e := all[len(all)-1]; !strings.HasPrefix(e.record["entry"].(string), id) {
		t.Errorf("the correction is of %v, want the entry %s", e.record["entry"], id)
	}
}

// What identity entries are called can be put right; what makes them themselves cannot.
func TestCorrectIdentity(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	for _, test := range []struct{ kind, name, words, want string }{
		{"farm", "Alder Farm", `"Alder Holding"`, "farm Alder Holding"},
		{"yard", "creek", `"creek side"`, "yard creek side"},
		{"machine", "drill2", `drill-24 --serial "B 7" --year 2011`, "drill-24"},
		{"machine", "drill", `--group "squeaky=3,17,20"`, "drill"},
		{"person", "", `"Sam Rook the younger"`, "Sam Rook the younger"},
	} {
		id := s.idOfName(test.kind, test.name)[:8]
		out := s.must("shedbook correct " + id + " " + test.words)
		if !strings.Contains(out, "now: ") || !strings.Contains(out[strings.Index(out, "now: "):], test.want) {
			t.Errorf("%s %s: %s", test.kind, test.words, out)
		}
	}
	if out := s.must(`shedbook did drill squeaky grease --by Sam`); !strings.HasPrefix(out, "recorded: greased squeaky on drill, Wed 2026-04-01 18:00, by Sam Rook the younger") {
		t.Errorf("got %s", out)
	}
	if out := s.must(`shedbook machine list`); !strings.Contains(out, "drill-24") || strings.Contains(out, "drill2") {
		t.Errorf("got %s", out)
	}
}

// The wrong machine: taken back and recorded anew in one step, by correct and by strike alike; what the other machine has not is refused.
func TestWrongMachine(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	s.must(`shedbook adjust drill depth=6 --done 2026-03-01`)
	s.must(`shedbook adjust drill2 depth=3 --done 2026-03-01`)
	id := lastID(t, strings.SplitN(s.must(`shedbook adjust drill 1-4 depth +1`), "\n", 2)[0])
	before := len(s.entries())
	out := s.must(`shedbook correct ` + id + ` --machine drill2`)
	all := s.entries()[before:]
	if len(all) != 2 || all[0].kind != "strike" || all[0].machine != "drill" || all[1].kind != "adjust" || all[1].machine != "drill2" {
		t.Fatalf("entries %+v", all)
	}
	want := map[string]any{"done": "2026-04-01T18:00", "changes": []any{map[string]any{"setting": "depth", "positions": []any{"opener/1-4"}, "to": "4", "by": "+1", "said": "1-4"}}}
	if d := cmp.Diff(want, all[1].record); d != "" { // a step from where drill2 stood
		t.Error(d)
	}
	if !strings.HasPrefix(out, "recorded: set seeding depth by +1: to 4 on openers 1-4 on drill2, Wed 2026-04-01 18:00, by Wren Alder [") ||
		!strings.Contains(out, "\n  taken back: set seeding depth by +1: to 7 on openers 1-4 on drill, Wed 2026-04-01 18:00, by Wren Alder ["+id+"]\n") {
		t.Error(out)
	}

	id = lastID(t, strings.SplitN(s.must(`shedbook did drill grease 20-24`), "\n", 2)[0])
	before = len(s.entries())
	s.must(`shedbook strike ` + id + ` --again drill2 --note "wrong drill"`)
	if all = s.entries()[before:]; len(all) != 2 || all[0].text != "wrong drill" || all[1].machine != "drill2" || all[1].text != "" {
		t.Fatalf("entries %+v", all)
	}

	id = lastID(t, strings.SplitN(s.must(`shedbook did drill grease 40-48`), "\n", 2)[0])
	for _, test := range []struct{ words, want string }{
		{"--machine drill2", `shedbook: drill2: "opener/40-48" names no place: this machine has openers 1 to 24`},
		{"--machine tractor", `shedbook: tractor: "opener/40-48" names no place`},
		{"--machine drill", `shedbook: ` + id + ` is about drill already`},
		{"--machine dril", `shedbook: there is no machine "dril"; did you mean drill or drill2?`},
	} {
		if _, errs, code := s.say("shedbook correct " + id + " " + test.words); code != exitFailed || !strings.HasPrefix(errs, test.want) {
			t.Errorf("%s: exit %d, %s; want %s", test.words, code, errs, test.want)
		}
	}
}

func TestStrike(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	id := lastID(t, strings.SplitN(s.must(`shedbook did drill grease`), "\n", 2)[0])
	out := s.must(`shedbook strike ` + id + ` --note "typed twice"`)
	if want := "recorded: took back entry " + id + ": greased all 48 openers on drill, Wed 2026-04-01 18:00, by Wren Alder ["; !strings.HasPrefix(out, want) {
		t.Errorf("got %s, want %s", out, want)
	}
	all := s.entries()
	last := all[len(all)-1]
	if last.kind != "strike" || last.machine != "drill" || last.text != "typed twice" || !strings.HasPrefix(last.record["entry"].(string), id) {
		t.Errorf("entry %+v", last)
	}
	// what is taken back counts for nothing: the same can be recorded again at once
	s.must(`shedbook did drill grease`)
	s.must(`shedbook did drill grease 3`)
	for _, test := range []struct{ line, want, hint string }{
		{`strike ` + id, `shedbook: ` + id + ` was taken back by ` + last.id[:8], "record it anew"},
		{`correct ` + id + ` but 14`, `shedbook: ` + id + ` was taken back by ` + last.id[:8], "record it anew"},
		{`strike ` + last.id[:8], `shedbook: ` + last.id[:8] + ` took entry ` + id + ` back, for good`, "record it anew"},
		{`strike zz12`, `shedbook: "zz12" is no id of an entry: four or more of the digits in brackets behind it`, "shedbook history MACHINE shows the ids"},
		{`strike 123`, `shedbook: "123" is no id of an entry: four or more of the digits in brackets behind it`, "shedbook history MACHINE shows the ids"},
		{`strike ffffffff`, `shedbook: there is no entry "ffffffff"`, "shedbook history MACHINE shows the ids"},
		{`strike`, `shedbook: strike takes the id of an entry`, "shedbook history MACHINE shows the ids"},
		{`strike ` + s.idOfKind("found")[:8], `shedbook: ` + s.idOfKind("found")[:8] + ` is an entry about who takes part: it can be neither corrected nor taken back`, ""},
		{`strike ` + s.idOfName("machine", "drill")[:8], `shedbook: 2 entries rest on machine ` + s.idOfName("machine", "drill")[:8] + ` and would count for nothing; nothing was recorded`, "if it is right, say the same again with --yes"},
		{`correct ` + s.idOfKind("schedule")[:8], `shedbook: a schedule entry is not corrected: take it back and record it anew`, "shedbook strike " + s.idOfKind("schedule")[:8]},
	} {
		before := len(s.entries())
		_, errs, code := s.say("shedbook " + test.line)
		want := test.want + "\n"
		if test.hint != "" {
			want += "  next: " + test.hint + "\n"
		}
		if code == exitDone || errs != want {
			t.Errorf("%s: exit %d\n%swant\n%s", test.line, code, errs, want)
		}
		if n := len(s.entries()); n != before {
			t.Errorf("%s: %d entries were written", test.line, n-before)
		}
	}
}

func TestCorrectRefuses(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	short := func(line string) string { return lastID(t, strings.SplitN(s.must("shedbook "+line), "\n", 2)[0]) }
	did, measured, moved := short(`did drill grease but 14`), short(`measure drill 1-2 disc-reach --values 5,5.1`), short(`machine move drill creek`)
	set, fault := short(`adjust drill depth=6 gauge-shims=2`), short(`fault drill 3 "hub rough"`)
	for _, test := range []struct{ line, want, hint string }{
		{did, `nothing would change: greased openers 1-48 but 14 on drill, Wed 2026-04-01 18:00, by Wren Alder`, `say what was different: shedbook correct ` + did + ` --done 2026-04-02`},
		{did + ` but 14`, `opener 14 cannot be left out: the entry is about openers 1-48 but 14`, ""},
		{did + ` --found 5`, `a did entry takes no --found`, "shedbook help did"},
		{did + ` greese`, `drill has no "greese"; did you mean grease?`, "shedbook schedule show drill"},
		{did + ` --by Nobody`, `nobody in the book is called "Nobody"`, `shedbook people add "Nobody"`},
		{did + ` --done 2026-04-31`, `--done: "2026-04-31" is no day: write 2026-04-01, today, yesterday or a weekday`, `write --done 2026-04-01 or --done "2026-04-01 16:05"`},
		{did + ` --done 2027-04-30`, `Fri 2027-04-30 lies in the future, and only what was done is recorded; nothing was recorded`, "leave --done out if it is done; if that day is today, set this computer's clock. What is planned is not recorded: shedbook due lists it"},
		{measured + ` opener/3`, `the entry holds several values: which one was at opener 3?`, "say the value too"},
		{measured + ` 5.2`, `the entry holds several values of disc-reach: 5.2 in at all 2 places? (one of them: shedbook correct ` + measured + ` PLACE=VALUE); nothing was recorded`, "if it is right, say the same again with --yes"},
		{measured + ` 1=6 1=7`, `opener 1 stands twice`, "say one value of each place"},
		{measured + ` 1 disc-reach 2=6`, `drill: opener 2 is not among opener 1`, "name it among the places"},
		{measured + ` 5psi`, `drill: disc-reach: "5psi" is a pressure, but a length is wanted, such as 5 in`, "shedbook correct " + measured + " 5in"},
		{set + ` 7`, `"7" of what? the entry sets several things`, "name the setting: depth=7"},
		{set + ` depth=70`, `drill: depth cannot be 70: it goes from 1 (shallowest) to 12 (deepest)`, ""},
		{fault + ` --torque 5`, `a fault entry takes no --torque`, "shedbook help fault"},
		{moved + ` nowhere`, `there is no yard "nowhere"`, ""},
		{s.idOfName("farm", "Alder Farm")[:8], `a farm is corrected with its new name`, `shedbook correct ID "New Name"`},
		{s.idOfName("machine", "drill")[:8] + ` drill2`, `there is a machine "drill2" already`, "choose another name"},
	} {
		before := len(s.entries())
		_, errs, code := s.say("shedbook correct " + test.line)
		want := "shedbook: " + test.want + "\n"
		if test.hint != "" {
			want += "  next: " + test.hint + "\n"
		}
		if code == exitDone || errs != want {
			t.Errorf("%s: exit %d\n%swant\n%s", test.line, code, errs, want)
		}
		if n := len(s.entries()); n != before {
			t.Errorf("%s: %d entries were written", test.line, n-before)
		}
	}
}
