package ledger

import (
	"fmt"
	"strings"
	"testing"
)

// resign replaces parts of an entry's line and puts digest, id and signature
// right again, so that only the change itself is wrong.
func resign(t *testing.T, d *device, e *Entry, old, new string) []byte {
	t.Helper()
	line := string(e.Line())
	if strings.Count(line, old) == 0 {
		t.Fatalf("%q is not in %s", old, line)
	}
	line = strings.Replace(line, old, new, 1)
	head := line[strings.Index(line, `,"head":`)+len(`,"head":`):]
	for _, end := range []string{`,"private":{"r`, `,"sig":"`} {
		if i := strings.Index(head, end); i >= 0 {
			head = head[:i]
			break
		}
	}
	signature, err := d.key.Sign(toBeSigned(EntryNamespace, []byte(head)))
	if err != nil {
		t.Fatal(err)
	}
	i := strings.LastIndex(line, `"sig":"`)
	return []byte(line[:i] + `"sig":"` + string(base64Text(signature)) + "\"}\n")
}

// Every line that is not exactly as FORMAT.md has it is refused, with the reason
// and, where it is one, the place, even when it is rightly signed.
func TestLineRefused(t *testing.T) {
	w := newWorld(t)
	fay, ned, moe := farm(w)
	moe.note("moe")
	ned.pull(moe)
	e := ned.sign(Draft{
		Class: Work, Kind: "note", Machine: &w.machine,
		Record:  map[string]any{"text": "as said", "n": 1, "list": []int{1, 2}},
		Private: map[string]any{"words": "hay"},
	})
	line := string(e.Line())
	if _, err := Verify([]byte(line), ned.key.Public()); err != nil {
		t.Fatal(err)
	}
	_ = fay
	for _, c := range []struct{ name, old, new, want string }{
		{"space", `"n":1`, `"n": 1`, "expected a value, found ' '"},
		{"tab", `{"body"`, "{\t\"body\"", "expected '\"', found U+0009"},
		{"byte order mark", `{"body"`, "\ufeff{\"body\"", "byte 1: expected '{', found U+FEFF"},
		{"carriage return", "", "", ""}, // below: at the end
		{"fraction", `"n":1`, `"n":1.5`, "only integers are numbers: write a fraction as a decimal string with a unit"},
		{"exponent", `"n":1`, `"n":1e3`, "only integers are numbers: write a fraction as a decimal string with a unit"},
		{"minus zero", `"n":1`, `"n":-0`, "-0 is not an integer here"},
		{"leading zero", `"n":1`, `"n":01`, "an integer does not start with 0"},
		{"beyond 2^53-1", `"n":1`, `"n":9007199254740992`, "an integer beyond 2^53-1: write a decimal string with a unit"},
		{"null", `"n":1`, `"n":null`, "null is not used: a member without a value is left out"},
		{"not a value", `"n":1`, `"n":NaN`, "expected a value, found 'N'"},
		{"member twice", `"n":1`, `"n":1,"n":1`, `member "n" stands twice`},
		{"members out of order", `"list":[1,2],"n":1`, `"n":1,"list":[1,2]`, `member "list" must stand before "n"`},
		{"name in capitals", `"n":1`, `"N":1`, "a member name has only a-z, 0-9 and _, found 'N'"},
		{"name starts with a digit", `"n":1`, `"n":1,"1":2`, `"1" cannot be a member name: 1 to 64 of a-z, 0-9 and _, the first a letter`},
		{"name is empty", `"n":1`, `"":1`, `"" cannot be a member name: 1 to 64 of a-z, 0-9 and _, the first a letter`},
		{"name is long", `"n":1`, `"` + strings.Repeat("n", 65) + `":1`, "cannot be a member name"},
		{"name is escaped", `"n":1`, `"\n":1`, `a member name has only a-z, 0-9 and _, found '\\'`},
		{"escape not needed", "as said", `as \u0073aid`, `only the escapes \n \" \\ are written`},
		{"escaped slash", "as said", `as \/said`, `only the escapes \n \" \\ are written`},
		{"tab in text", "as said", "as\tsaid", "U+0009 is not allowed in text"},
		{"escape sequence in text", "as said", "as\x1b[2Jsaid", "U+001B is not allowed in text"},
		{"reversed text", "as said", "as\u202esaid", "U+202E is not allowed in text"},
		{"not UTF-8", "as said", "as\xffsaid", "not valid UTF-8"},
		{"surrogate", "as said", "as\xed\xa0\x80said", "not valid UTF-8"},
		{"overlong", "as said", "as\xc0\xafsaid", "not valid UTF-8"},
		{"string not closed", `hay"}`, `hay}`, "expected ',', found 's'"},
		{"list not closed", `[1,2]`, `[1,2`, "expected ',', found ':'"},
		{"list ends with a comma", `[1,2]`, `[1,2,]`, "expected a value, found ']'"},
		{"too deep", `[1,2]`, strings.Repeat("[", 14) + strings.Repeat("]", 14), "more than 16 objects and arrays inside each other"},
		{"unknown member of the line", `,"sig"`, `,"shown":1,"sig"`, `unknown member "shown" of the line`},
		{"unknown member of the head", `,"tag"`, `,"sum":1,"tag"`, `unknown member "sum" of "head"`},
		{"unknown member of the body", `,"record":{"list"`, `,"reason":1,"record":{"list"`, `unknown member "reason" of the body`},
		{"unknown member of private", `"private":{`, `"private":{"kind":"x",`, `unknown member "kind" of private`},
		{"kind in capitals", `"kind":"note"`, `"kind":"Note"`, `"Note" cannot be a kind: 1 to 32 of a-z, 0-9 and _, the first a letter`},
		{"no kind", `"kind":"note",`, ``, "the body has no kind"},
		{"newer version", `"v":1,`, `"v":2,`, "the entry has format version 2: a newer shedbook is needed to read it"},
		{"no version", `"v":1,`, ``, `"head" has no v`},
		{"no seen", `"seen":[`, `"seem":[`, `unknown member "seem" of "head"`},
		{"unknown class", `"class":"work"`, `"class":"play"`, `class is "play": it is control, shared or work`},
		{"tag outside work", `"class":"work"`, `"class":"shared"`, `class is "shared": work entries have a tag, others none`},
		{"depth below seq", fmt.Sprintf(`"depth":%d`, e.Depth()), `"depth":1`, "depth 1 is less than seq 2"},
		{"seq 0", `"seq":2,"tag"`, `"seq":0,"tag"`, "seq is 0: it counts from 1"},
		{"seq 1 with prev", `"seq":2,"tag"`, `"seq":1,"tag"`, "seq is 1: an entry has prev unless it is the first of its log"},
		{"prev in capitals", `"prev":"`, `"prev":"A`, "prev must have 64 lower-case hex digits"},
		{"date with offset", `Z","body"`, `+00:00","body"`, "it is written YYYY-MM-DDThh:mm:ssZ"},
		{"date with fraction", `Z","body"`, `.5Z","body"`, "it is written YYYY-MM-DDThh:mm:ssZ"},
		{"no such day", `"at":"2026-03-02`, `"at":"2026-02-30`, "it is written YYYY-MM-DDThh:mm:ssZ"},
		{"writer in capitals", `"v":1,"writer":"`, `"v":1,"writer":"A`, "writer must have 32 characters of lower-case base32"},
		{"private not signed", `"private":"`, `"private":"00`, "private must have 64 lower-case hex digits"},
		{"padding", `"salt":"`, `"salt":"=`, "salt must be 16 bytes of base64url without padding"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.name == "carriage return" {
				c.want = "expected the end of the line, found U+000D"
				line := strings.TrimSuffix(line, "\n") + "\r\n"
				if _, err := Verify([]byte(line), ned.key.Public()); err == nil || !strings.HasSuffix(err.Error(), c.want) {
					t.Errorf("%v, want %q", err, c.want)
				}
				return
			}
			_, err := Verify(resign(t, ned, e, c.old, c.new), ned.key.Public())
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%v, want %q", err, c.want)
			}
		})
	}
}

// Refusals of a whole line, word for word.
func TestLineRefusedWhole(t *testing.T) {
	w := newWorld(t)
	fay, ned, _ := farm(w)
	e := ned.sign(Draft{Class: Work, Kind: "note", Machine: &w.machine, Record: map[string]any{"text": "one"}, Private: map[string]any{"words": "hay"}})
	other := ned.sign(Draft{Class: Work, Kind: "note", Machine: &w.machine, Record: map[string]any{"text": "two"}, Private: map[string]any{"words": "straw"}})
	line := string(e.Line())
	cut := func(s, from, to string) string {
		i := strings.Index(s, from)
		j := i + strings.Index(s[i:], to)
		return s[:i] + s[j:]
	}
	part := func(s, from, to string) string {
		i := strings.Index(s, from)
		return s[i : i+strings.Index(s[i:], to)]
	}
	for _, c := range []struct{ name, line, want string }{
		{"empty", "", "the line does not end with a line feed"},
		{"only a line feed", "\n", "byte 1: expected '{', found the end of the line"},
		{"no line feed", strings.TrimSuffix(line, "\n"), "the line does not end with a line feed"},
		{"two lines", line + line, fmt.Sprintf("byte %d: expected the end of the line, found U+000A", len(line))},
		{"too long", strings.Replace(line, "one", strings.Repeat("x", MaxLine), 1), fmt.Sprintf("the line has %d bytes, more than 65536", len(line)-3+MaxLine)},
		{"no head", cut(line, `"head":`, `"private":{`), `the line has no "head"`},
		{"no body", cut(line, `"body":`, `"head":`), "the line has no body"},
		{"no signature", cut(line, `,"sig":`, "}\n"), "the line has no sig"},
		{"another's body", strings.Replace(line, part(line, `"body":{`, `,"head"`), part(string(other.Line()), `"body":{`, `,"head"`), 1),
			"the body is not the one that was signed: its digest is not the signed one"},
		{"another's private", strings.Replace(line, part(line, `"private":{`, `,"sig"`), part(string(other.Line()), `"private":{`, `,"sig"`), 1),
			"the private part is not the one that was signed: its digest is not the one in the body"},
		{"another's signature", strings.Replace(line, part(line, `"sig":`, "}\n"), part(string(other.Line()), `"sig":`, "}\n"), 1),
			"the signature is not by this writer over this entry"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Verify([]byte(c.line), ned.key.Public())
			if err == nil || err.Error() != c.want {
				t.Errorf("%v, want %q", err, c.want)
			}
		})
	}
	if _, err := Verify([]byte(line), fay.key.Public()); err == nil || err.Error() != "the key is not this writer's" {
		t.Errorf("another's key: %v", err)
	}
	if _, err := Verify([]byte(line), nil); err == nil || err.Error() != "no key is known for this writer" {
		t.Errorf("no key: %v", err)
	}
	if _, err := Verify(fay.book.Founding().Line(), nil); err != nil {
		t.Errorf("a founding entry carries its own key: %v", err)
	}
}

// A private part may be held back, and in evidence a body: what is left
// verifies, and nothing else may be left out.
func TestWithheld(t *testing.T) {
	w := newWorld(t)
	fay, ned, _ := farm(w)
	e := ned.sign(Draft{Class: Work, Kind: "note", Machine: &w.machine, Record: map[string]any{"text": "one"}, Private: map[string]any{"words": "hay"}})
	line := string(e.Line())
	i, j := strings.Index(line, `,"private":{`), strings.Index(line, `,"sig"`)
	noPrivate := line[:i] + line[j:]
	got, err := Verify([]byte(noPrivate), ned.key.Public())
	if err != nil || got.ID() != e.ID() || !got.HasPrivate() || got.Private() != nil {
		t.Fatalf("private held back: %v", err)
	}
	k := strings.Index(line, `"head":`)
	headOnly := "{" + noPrivate[k:]
	got, err = VerifyHead([]byte(headOnly), ned.key.Public())
	if err != nil || got.ID() != e.ID() || got.HasBody() || got.Record() != nil || got.Kind() != "" || !got.TagMatches(w.machine) {
		t.Fatalf("body withheld: %v", err)
	}
	if err := ned.book.Append(got); err != nil {
		t.Errorf("an entry that is held already: %v", err)
	}
	if err := load1(t, fay.logs()).Append(got); err == nil || !strings.HasSuffix(err.Error(), ": its body is withheld") {
		t.Errorf("append without a body: %v", err)
	}
	if _, err := VerifyHead([]byte("{"+line[k:]), ned.key.Public()); err == nil || err.Error() != "the line shows private but not the body that vouches for it" {
		t.Errorf("private without body: %v", err)
	}
	f := string(fay.book.Entries()[0].Line())
	i, j, k = strings.Index(f, `,"private":{`), strings.Index(f, `,"sig"`), strings.Index(f, `"head":`)
	if _, err := VerifyHead([]byte("{"+f[k:i]+f[j:]), fay.key.Public()); err == nil || err.Error() != "the body of a control entry cannot be withheld" {
		t.Errorf("control body withheld: %v", err)
	}
	// In a log the loss of a private part is an error; the entry still counts.
	ned.pull(fay)
	logs := ned.logs()
	for _, l := range logs {
		for n := range l.Lines {
			if string(l.Lines[n]) == line {
				l.Lines[n] = []byte(noPrivate)
			}
		}
	}
	b := load1(t, logs)
	want := fmt.Sprintf("the book does not verify: log %s line 2 (%s): the entry's private part was taken out of the log: sync with whoever may have it [private-missing]", ned.writer(), e.ID().Short())
	if err := b.Sound(); err == nil || err.Error() != want {
		t.Errorf("%v, want %q", err, want)
	}
	wantStatuses(t, b, []*Entry{e}, Counts)
	// The whole line from elsewhere mends it.
	if err := load1(t, append(logs, ned.logs()...)).Sound(); err != nil {
		t.Error(err)
	}
}
