package ledger

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"
)

// What Sign refuses, word for word: the member is named by its path.
func TestSignRefuses(t *testing.T) {
	fay, _ := newWorld(t).found("fay")
	deep := any("x")
	for range 14 {
		deep = []any{deep}
	}
	for _, c := range []struct {
		name  string
		draft Draft
		want  string
	}{
		{"float", Draft{Class: Shared, Kind: "farm", Record: map[string]any{"size": 2.5}},
			"sign farm: record.size: 2.5 cannot be written: numbers are integers from -(2^53-1) to 2^53-1, anything else is a decimal string with a unit"},
		{"too large", Draft{Class: Shared, Kind: "farm", Record: map[string]any{"size": uint64(1) << 53}},
			"sign farm: record.size: 9007199254740992 cannot be written: numbers are integers from -(2^53-1) to 2^53-1, anything else is a decimal string with a unit"},
		{"not a number", Draft{Class: Shared, Kind: "farm", Record: map[string]any{"size": math.NaN()}},
			"sign farm: record cannot be written: json: unsupported value: NaN"},
		{"null", Draft{Class: Shared, Kind: "farm", Record: map[string]any{"yards": []any{1, nil}}},
			"sign farm: record.yards[1]: null is not used: leave out a member without a value"},
		{"name", Draft{Class: Shared, Kind: "farm", Record: map[string]any{"in": map[string]any{"Size": 1}}},
			`sign farm: record.in: "Size" cannot be a member name: 1 to 64 of a-z, 0-9 and _, the first a letter`},
		{"control character", Draft{Class: Shared, Kind: "farm", Private: map[string]any{"note": "a\tb"}},
			"sign farm: private.note: text holds U+0009, which is not allowed"},
		{"bidi", Draft{Class: Shared, Kind: "farm", Record: map[string]any{"name": "a\u202eb"}},
			"sign farm: record.name: text holds U+202E, which is not allowed"},
		{"not UTF-8", Draft{Class: Shared, Kind: "farm", Record: map[string]any{"name": "a\xff"}},
			"sign farm: record.name: text is not valid UTF-8 (or holds U+FFFD, the sign for that)"},
		{"not an object", Draft{Class: Shared, Kind: "farm", Record: []int{1}}, "sign farm: record must be an object"},
		{"too deep", Draft{Class: Shared, Kind: "farm", Record: map[string]any{"x": deep}},
			"sign farm: record.x" + strings.Repeat("[0]", 13) + ": more than 16 objects and arrays inside each other"},
		{"too long", Draft{Class: Shared, Kind: "schedule", Record: map[string]any{"text": strings.Repeat("x", MaxLine)}},
			"sign schedule: the line has 66067 bytes, more than 65536"},
		{"kind", Draft{Class: Shared, Kind: "Farm"}, `sign Farm: "Farm" cannot be a kind: 1 to 32 of a-z, 0-9 and _, the first a letter`},
		{"class", Draft{Class: "play", Kind: "farm"}, `class is "play": it is control, shared or work`},
		{"work without machine", Draft{Class: Work, Kind: "note"}, "sign note: a work entry needs its machine's key"},
		{"shared with machine", Draft{Class: Shared, Kind: "farm", Machine: &MachineKey{}}, "sign farm: a shared entry concerns no machine"},
		{"unknown control kind", Draft{Class: Control, Kind: "crown"}, `sign crown: unknown kind of control entry "crown": newer shedbook needed`},
		{"unknown role", Draft{Class: Control, Kind: KindAdmit, Record: Admit{Key: fay.public(), Role: "boss"}}, `sign admit: admit: unknown role "boss": newer shedbook needed`},
		{"unknown private member", Draft{Class: Control, Kind: KindAdmit, Record: Admit{Key: fay.public(), Role: RoleWorker}, Private: map[string]any{"nick": "x"}},
			`sign admit: private: json: unknown field "nick"`},
		{"a request that is not first", Draft{Class: Control, Kind: KindRequest, Record: Request{Key: fay.public()}},
			`sign request: seq is 2 and kind "request": the first entry of a log is found or request, no later one is`},
	} {
		t.Run(c.name, func(t *testing.T) {
			at, err := fay.book.Next(fay.writer())
			if err != nil {
				t.Fatal(err)
			}
			c.draft.At = fay.now
			e, err := Sign(c.draft, at, fay.key, fay.random)
			if err == nil || !strings.HasSuffix(err.Error(), c.want) {
				t.Errorf("%v (%v), want %q", err, e, c.want)
			}
		})
	}
}

// Text comes out in normal form C, and line feeds, quotes and backslashes come
// back as they went in.
func TestSignText(t *testing.T) {
	fay, _ := newWorld(t).found("fay")
	e := fay.sign(Draft{Class: Shared, Kind: "farm", Record: map[string]any{"name": "Mu\u0308hle <\"&\\>\nÅ ½"}})
	const want = `{"name":"Mühle <\"&\\>\nÅ ½"}`
	if got := string(e.Record()); got != want {
		t.Errorf("%s want %s", got, want)
	}
}

// An entry is never recorded before the one it continues, whatever the clock says.
func TestSignClockBehind(t *testing.T) {
	fay, _ := newWorld(t).found("fay")
	before := fay.book.Founding().At()
	at, err := fay.book.Next(fay.writer())
	if err != nil {
		t.Fatal(err)
	}
	e, err := Sign(Draft{Class: Shared, Kind: "farm", At: before.Add(-time.Hour)}, at, fay.key, fay.random)
	if err != nil || !e.At().Equal(before) {
		t.Errorf("recorded %v (%v), want %v", e.At(), err, before)
	}
}

type brokenSigner struct{ *Key }

func (brokenSigner) Sign([]byte) ([]byte, error) { return make([]byte, 64), nil }

type shortRandom struct{}

func (shortRandom) Read([]byte) (int, error) { return 0, errors.New("no noise") }

// A signer that signs wrongly and a random source that fails yield no entry.
func TestSignFailures(t *testing.T) {
	fay, _ := newWorld(t).found("fay")
	at, err := fay.book.Next(fay.writer())
	if err != nil {
		t.Fatal(err)
	}
	d := Draft{Class: Shared, Kind: "farm", At: fay.now}
	if _, err := Sign(d, at, brokenSigner{fay.key}, fay.random); !errors.Is(err, ErrSignature) {
		t.Errorf("broken signer: %v", err)
	}
	if _, err := Sign(d, at, fay.key, shortRandom{}); err == nil || err.Error() != "sign farm: draw a salt: no noise" {
		t.Errorf("no random: %v", err)
	}
	if _, err := NewKey(shortRandom{}); err == nil {
		t.Error("a key without random")
	}
	if _, err := NewMachineKey(shortRandom{}); err == nil {
		t.Error("a machine key without random")
	}
}
