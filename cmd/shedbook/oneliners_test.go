package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shedbook/ledger/gitstore"
	"shedbook/rules/record"
)

// shed is a book of the made-up Alder family and a clock, to type lines into.
type shed struct {
	t    *testing.T
	dir  string
	home string
	now  time.Time
	n    int
}

// newShed makes a book with a drill of 48 openers, a smaller one, a tractor, a second yard and a hired hand. It is six in the evening on the first of April.
func newShed(t *testing.T) *shed {
	dir := t.TempDir()
	s := &shed{t: t, dir: filepath.Join(dir, "book"), home: filepath.Join(dir, "home"), now: time.Date(2026, 4, 1, 18, 0, 0, 0, time.UTC)}
	s.must(`shedbook new ` + s.dir + ` --me "Wren Alder" --farm "Alder Farm"`)
	s.must(`shedbook yard add creek`)
	s.must(`shedbook people add "Sam Rook"`)
	s.must(`shedbook machine add drill disc-drill --yard home --options openers=48,coupling=yes --group squeaky=3,17`)
	s.must(`shedbook machine add drill2 disc-drill --yard home --options openers=24`)
	s.must(`shedbook machine add tractor tractor --yard home`)
	return s
}

// say runs one line as a shell would and gives what it printed.
func (s *shed) say(line string) (stdout, stderr string, code int) {
	s.t.Helper()
	s.n++
	var out, errs bytes.Buffer
	args := shellWords(s.t, line)
	if args[0] != "shedbook" {
		s.t.Fatalf("%s: not our command", line)
	}
	e := &env{
		stdin: strings.NewReader(""), stdout: &out, stderr: &errs, dir: s.dir, now: func() time.Time { return s.now },
		getenv: func(k string) string {
			return map[string]string{"HOME": s.home, "COLUMNS": "400", "SHEDBOOK_BOOK": s.dir}[k]
		},
		random: rand.NewChaCha8(sha256.Sum256([]byte(fmt.Sprint(s.n, line)))),
	}
	code = run(e, args[1:])
	return out.String(), errs.String(), code
}

func (s *shed) must(line string) string {
	s.t.Helper()
	out, errs, code := s.say(line)
	if code != 0 {
		s.t.Fatalf("%s: exit %d\n%s%s", line, code, out, errs)
	}
	return out
}

// stored is one entry as the book holds it.
type stored struct {
	id      string
	kind    string
	machine string
	record  map[string]any
	text    string // the person's own words
}

// entries reads the book from its files, past all that recorded it.
func (s *shed) entries() []stored {
	s.t.Helper()
	store, err := gitstore.Open(s.dir)
	if err != nil {
		s.t.Fatal(err)
	}
	defer store.Close()
	logs, err := store.Logs()
	if err != nil {
		s.t.Fatal(err)
	}
	var out []stored
	names := map[string]string{}
	for _, log := range logs {
		for _, raw := range log.Lines {
			var line struct {
				Body struct {
					Kind   string         `json:"kind"`
					Record map[string]any `json:"record"`
				} `json:"body"`
				Private struct {
					Record record.Private `json:"record"`
				} `json:"private"`
			}
			if err := json.Unmarshal(raw, &line); err != nil {
				s.t.Fatal(err)
			}
			e := stored{id: idOf(s.t, raw), kind: line.Body.Kind, record: line.Body.Record, text: line.Private.Record.Text}
			if id, ok := e.record["machine"].(string); ok {
				e.machine = names[id]
			}
			if e.kind == "machine" {
				names[e.id] = e.record["name"].(string)
			}
			delete(e.record, "machine")
			out = append(out, e)
		}
	}
	return out
}

// shellWords takes a line apart as a shell does: blanks, and quotes of both kinds.
func shellWords(t *testing.T, line string) []string {
	var out []string
	var word strings.Builder
	in, open := rune(0), false
	for _, c := range line {
		switch {
		case in != 0 && c == in:
			in = 0
		case in == 0 && (c == '"' || c == '\''):
			in, open = c, true
		case in == 0 && c == ' ':
			if open || word.Len() > 0 {
				out = append(out, word.String())
			}
			word.Reset()
			open = false
		default:
			if in == 0 && strings.ContainsRune("<>|&;()$`*?#~", c) {
				t.Fatalf("%s: a shell would take %q for something else", line, c)
			}
			word.WriteRune(c)
		}
	}
	if open || word.Len() > 0 {
		out = append(out, word.String())
	}
	return out
}

// What people say in the shed, and the one line of at most twelve words that records it. The records are written out by hand from the sayings, in the
// form ledger/FORMAT.md gives them. The sayings are common practice, no source.
func TestOneLiners(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	before := len(s.entries())
	sam, creek := s.idOfKind("person"), s.idOfName("yard", "creek")
	all48 := `["opener/1-48"]`
	for _, test := range []struct{ saying, line, kind, machine, want, text string }{
		{"the drill came as good as done, at 1,600 acres", `shedbook assume drill good --counter 1600`,
			"assume", "drill", `{"good":true,"counters":[{"counter":"area","at":"1600 ac"}]}`, ""},
		{"its discs are about half worn", `shedbook assume drill discs worn=50%`,
			"assume", "drill", `{"items":[{"name":"disc","worn":"50 %"}]}`, ""},
		{"greased the drill but 14 and 31", `shedbook did drill grease but 14 and 31`,
			"did", "drill", `{"job":"grease","positions":["opener/1-13","opener/15-30","opener/32-48"],"said":"but 14 31"}`, ""},
		{"greased one to twenty-four", `shedbook did drill grease 1-24`,
			"did", "drill", `{"job":"grease","positions":["opener/1-24"],"said":"1-24"}`, ""},
		{"greased the squeaky ones again", `shedbook did drill squeaky grease`,
			"did", "drill", `{"job":"grease","positions":["opener/3","opener/17"],"said":"squeaky"}`, ""},
		{"set all of them to six", `shedbook adjust drill depth 6`,
			"adjust", "drill", `{"changes":[{"setting":"depth","positions":` + all48 + `,"to":"6"}]}`, ""},
		{"left wing two holes deeper", `shedbook adjust drill left wing depth +2`,
			"adjust", "drill", `{"changes":[{"setting":"depth","positions":["opener/1-16"],"to":"8","by":"+2","said":"left wing"}]}`, ""},
		{"one hole shallower everywhere, it is wet, barley on the north field", `shedbook adjust drill depth -1 --ground wet --crop barley --field north`,
			"adjust", "drill", `{"ground":"wet","crop":"barley","field":"north","changes":[{"setting":"depth","positions":["opener/1-16"],"to":"7","by":"-1"},{"setting":"depth","positions":["opener/17-48"],"to":"5","by":"-1"}]}`, ""},
		{"left wing to seven, the rest six", `shedbook adjust drill left wing depth to 7, rest 6`,
			"adjust", "drill", `{"changes":[{"setting":"depth","positions":["opener/1-16"],"to":"7","said":"left wing"},{"setting":"depth","positions":["opener/17-48"],"to":"6","said":"rest"}]}`, ""},
		{"two shims behind the gauge wheels of the squeaky ones", `shedbook adjust drill squeaky gauge shims 2`,
			"adjust", "drill", `{"changes":[{"setting":"gauge-shims","positions":["opener/3","opener/17"],"to":"2","said":"squeaky"}]}`, ""},
		{"all coupled to carry both but 14", `shedbook adjust drill coupling carry-both but 14`,
			"adjust", "drill", `{"changes":[{"setting":"coupling","positions":["opener/1-13","opener/15-48"],"to":"carry-both","said":"but 14"}]}`, ""},
		{"put our spring set-up on", `shedbook adjust drill setup=spring`,
			"adjust", "drill", `{"setup":"spring","changes":[{"setting":"depth","positions":` + all48 + `,"to":"4"},{"setting":"gauge-hole","positions":` + all48 + `,"to":"2"},{"setting":"coupling","positions":` + all48 + `,"to":"carry-both"}]}`, ""},
		{"checked torque at ten hours, 14 and 31 moved, could not reach 9", `shedbook did drill torque check --moved 14,31 --skipped 9 --counter hours=10`,
			"did", "drill", `{"job":"torque-check","counters":[{"counter":"hours","at":"10 h"}],"positions":["opener/1-8","opener/10-48"],"skipped":["opener/9"],
			"results":[{"positions":["opener/14","opener/31"],"word":"moved"},{"positions":["opener/1-8","opener/10-13","opener/15-30","opener/32-48"],"word":"none-moved"}]}`, ""},
		{"went over the torque at 240, nothing moved", `shedbook did drill torque check --torque 240N.m --moved none`,
			"did", "drill", `{"job":"torque-check","torque":"240 N.m","positions":` + all48 + `,"results":[{"positions":` + all48 + `,"word":"none-moved"}]}`, ""},
		{"twelve's disc is down to five and a quarter", `shedbook measure drill 12 disc-reach 5 1/4`,
			"measure", "drill", `{"reading":"disc-reach","values":[{"positions":["opener/12"],"found":"5.25 in"}],"said":"12"}`, ""},
		{"first four from the left: 5.9, 5.8, cannot get at one, 6", `shedbook measure drill 1-4 disc-reach --values 5.9,5.8,-,6`,
			"measure", "drill", `{"reading":"disc-reach","values":[{"positions":["opener/1"],"found":"5.9 in"},{"positions":["opener/2"],"found":"5.8 in"},{"positions":["opener/3"],"cannot":"reach"},{"positions":["opener/4"],"found":"6 in"}],"said":"1-4"}`, ""},
		{"12 reads 5.9 and 30 reads 5 and seven eighths", `shedbook measure drill disc-reach 12=5.9 30=5 7/8`,
			"measure", "drill", `{"reading":"disc-reach","values":[{"positions":["opener/12"],"found":"5.9 in"},{"positions":["opener/30"],"found":"5.875 in"}]}`, ""},
		{"no play in any hub", `shedbook measure drill hub play none`,
			"measure", "drill", `{"reading":"hub-play","values":[{"positions":` + all48 + `,"found":"none"}]}`, ""},
		{"hub 23 is loose", `shedbook measure drill 23 hub play loose`,
			"measure", "drill", `{"reading":"hub-play","values":[{"positions":["opener/23"],"found":"loose"}],"said":"23"}`, ""},
		{"gauge wheel 7 was tight, brushing now", `shedbook measure drill 7 gauge drag --found tight --left brushing`,
			"measure", "drill", `{"reading":"gauge-drag","values":[{"positions":["opener/7"],"found":"tight","left":"brushing"}],"said":"7"}`, ""},
		{"hub cap of 30 was at 180 degrees", `shedbook measure drill 30 hub heat 180 degF`,
			"measure", "drill", `{"reading":"hub-heat","values":[{"positions":["opener/30"],"found":"180 degF"}],"said":"30"}`, ""},
		{"new disc on 12, worn out, at 1,812 acres", `shedbook swap drill 12 disc --why worn --counter 1812`,
			"swap", "drill", `{"part":"disc","act":"new","why":"worn","positions":["opener/12"],"counters":[{"counter":"area","at":"1812 ac"}],"said":"12"}`, ""},
		{"changed discs between 12 and 30", `shedbook swap drill 12 disc --with 30`,
			"swap", "drill", `{"part":"disc","act":"exchange","positions":["opener/12"],"with":["opener/30"],"said":"12"}`, ""},
		{"took the whole arm off 44", `shedbook swap drill 44 arm --out`,
			"swap", "drill", `{"part":"arm","act":"out","positions":["opener/44"],"said":"44"}`, ""},
		{"new scrapers all over the right wing, in good time", `shedbook swap drill right wing scrapers --why in-time`,
			"swap", "drill", `{"part":"scraper","act":"new","why":"in-time","positions":["opener/33-48"],"said":"right wing"}`, ""},
		{"turned the scraper on 5", `shedbook swap drill 5 scraper --turned`,
			"swap", "drill", `{"part":"scraper","act":"turned","positions":["opener/5"],"said":"5"}`, ""},
		{"hub 23 rough, for over winter", `shedbook fault drill 23 "hub rough" --winter`,
			"fault", "drill", `{"severity":"winter","positions":["opener/23"],"said":"23"}`, "hub rough"},
		{"opener 9 down at four, hub out, lost two hours, ran with it tied up", `shedbook fault drill 9 "hub out" --stop --tied-up --lost 2h --done 16:00`,
			"fault", "drill", `{"done":"2026-04-01T16:00","severity":"stop","tied_up":true,"lost":"2 h","positions":["opener/9"],"said":"9"}`, "hub out"},
		{"wired the hose up for now", `shedbook repair tractor "hose wired up" --temporary`,
			"repair", "tractor", `{"temporary":true}`, "hose wired up"},
		{"rear pivot bushings done, two of them, three hours", `shedbook repair drill "rear pivot" --used bushing=2 --minutes 180`,
			"repair", "drill", `{"used":[{"what":"bushing","count":2}],"minutes":180}`, "rear pivot"},
		{"drill shows 1,850 acres", `shedbook counter drill 1850`,
			"counter", "drill", `{"acts":[{"counter":"area","act":"at","value":"1850 ac"}]}`, ""},
		{"another forty acres", `shedbook counter drill area +40`,
			"counter", "drill", `{"acts":[{"counter":"area","act":"add","value":"40 ac"}]}`, ""},
		{"zeroed the trip at 212", `shedbook counter drill trip area reset --last 212`,
			"counter", "drill", `{"acts":[{"counter":"trip-area","act":"reset","last":"212 ac"}]}`, ""},
		{"new hour counter in the tractor, the old one said 4,312", `shedbook counter tractor hours replaced --last 4312`,
			"counter", "tractor", `{"acts":[{"counter":"hours","act":"replaced","last":"4312 h"}]}`, ""},
		{"changed the tractor's oil, 22 litres, at 10 hours", `shedbook did tractor oil change --fill oil=22L --counter 10`,
			"did", "tractor", `{"job":"oil-change","counters":[{"counter":"hours","at":"10 h"}],"fills":[{"of":"oil","amount":"22 L"}]}`, ""},
		{"looked at the oil and put two litres in", `shedbook did tractor oil level --top-up oil=2L`,
			"did", "tractor", `{"job":"oil-level","fills":[{"of":"oil","amount":"2 L","top_up":true}]}`, ""},
		{"Sam greased the tractor yesterday", `shedbook did tractor grease --by Sam --done yesterday`,
			"did", "tractor", `{"done":"2026-03-31","by":["SAM"],"job":"grease"}`, ""},
		{"wheel nuts checked, left front had moved", `shedbook did tractor wheel torque --moved left-front`,
			"did", "tractor", `{"job":"wheel-torque","positions":["wheel/left-front","wheel/left-rear","wheel/right-front","wheel/right-rear"],
			"results":[{"positions":["wheel/left-front"],"word":"moved"},{"positions":["wheel/left-rear","wheel/right-front","wheel/right-rear"],"word":"none-moved"}]}`, ""},
		{"front tyres at 22", `shedbook measure tractor front wheels tyre pressure 22`,
			"measure", "tractor", `{"reading":"tyre-pressure","values":[{"positions":["wheel/left-front","wheel/right-front"],"found":"22 psi"}],"said":"front wheels"}`, ""},
		{"battery stands at 12.4", `shedbook measure tractor battery voltage 12.4`,
			"measure", "tractor", `{"reading":"battery-voltage","values":[{"found":"12.4 V"}]}`, ""},
		{"extinguisher tag good until May next year", `shedbook did tractor extinguisher tag --outcome pass --until 2027-05-01`,
			"did", "tractor", `{"job":"extinguisher-tag","outcome":"pass","until":"2027-05-01"}`, ""},
		{"seed tubes are swapped end for end now", `shedbook note drill "seed tubes swapped end for end"`,
			"note", "drill", `{}`, "seed tubes swapped end for end"},
		{"bought a dozen discs", `shedbook shelf add 12 discs --yard home`,
			"stock", "", `{"kind":"disc-drill","part":"disc","act":"add","count":12}`, ""},
		{"drill went over to the creek", `shedbook machine move drill creek`,
			"move", "drill", `{"yard":"CREEK"}`, ""},
		{"seeding started today", `shedbook season open spring seeding 2026`,
			"season", "", `{"act":"open","name":"spring seeding 2026","work":"seeding","done":"2026-04-01"}`, ""},
		{"and it is over", `shedbook season close spring seeding 2026`,
			"season", "", `{"act":"close","name":"spring seeding 2026","done":"2026-04-01"}`, ""},
	} {
		t.Run(test.saying, func(t *testing.T) {
			s.t = t
			if n := len(strings.Fields(test.line)); n > 12 {
				t.Fatalf("%d words: %s", n, test.line)
			}
			s.now = s.now.Add(time.Minute)
			out := s.must(test.line)
			all := s.entries()
			if len(all) != before+1 {
				t.Fatalf("%d entries were written, want 1\n%s", len(all)-before, out)
			}
			before++
			got := all[len(all)-1]
			if got.kind != test.kind || got.machine != test.machine || got.text != test.text {
				t.Errorf("%s of %q, %q; want %s of %q, %q", got.kind, got.machine, got.text, test.kind, test.machine, test.text)
			}
			var want map[string]any
			text := strings.NewReplacer("SAM", sam, "CREEK", creek).Replace(test.want)
			if err := json.Unmarshal([]byte(text), &want); err != nil {
				t.Fatal(err)
			}
			if want["done"] == nil {
				want["done"] = s.now.Format("2006-01-02T15:04")
			}
			if d := cmp.Diff(want, got.record); d != "" {
				t.Error(d)
			}
			if !strings.HasPrefix(out, "recorded: ") || !strings.Contains(out, "]\n") {
				t.Errorf("the answer does not say what was recorded under which id:\n%s", out)
			}
		})
	}
}
