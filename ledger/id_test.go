package ledger

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/base32"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Text forms are those of the standard encodings, one text for one value, and
// the order of writers is the order of their text.
func TestTextForms(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SliceOfN(rapid.Byte(), 32, 32).Draw(t, "bytes")
		id, key, pub := ID(b), MachineKey(b), PublicKey(b)
		w, v := Writer(b[:20]), Writer(rapid.SliceOfN(rapid.Byte(), 20, 20).Draw(t, "other"))
		if id.String() != hex.EncodeToString(b) || id.Short() != hex.EncodeToString(b)[:8] {
			t.Fatalf("id %s", id)
		}
		if want := strings.ToLower(base32.StdEncoding.EncodeToString(b[:20])); w.String() != want {
			t.Fatalf("writer %s want %s", w, want)
		}
		if want := base64.RawURLEncoding.EncodeToString(b); pub.String() != want {
			t.Fatalf("key %s want %s", pub, want)
		}
		if w.Compare(v) != cmp.Compare(w.String(), v.String()) {
			t.Fatalf("order of %s and %s", w, v)
		}
		var all struct {
			I ID
			W Writer
			K MachineKey
			P PublicKey
		}
		text, err := json.Marshal(map[string]any{"I": id, "W": w, "K": key, "P": pub})
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(text, &all); err != nil || all.I != id || all.W != w || all.K != key || all.P != pub {
			t.Fatalf("%s comes back as %+v (%v)", text, all, err)
		}
	})
}

// Other spellings of the same value are refused.
func TestTextFormsStrict(t *testing.T) {
	zeros := strings.Repeat("0", 64)
	for _, s := range []string{"", zeros[1:], zeros + "0", "A" + zeros[1:], "g" + zeros[1:], " " + zeros[1:], zeros[:63] + "\n"} {
		if _, err := ParseID(s); err == nil {
			t.Errorf("ParseID(%q) passes", s)
		}
	}
	as := strings.Repeat("a", 32)
	for _, s := range []string{"", as[1:], as + "a", "A" + as[1:], "1" + as[1:], "=" + as[1:], as[:31] + "\n"} {
		if _, err := ParseWriter(s); err == nil {
			t.Errorf("ParseWriter(%q) passes", s)
		}
	}
	good := strings.Repeat("A", 43)
	// The 43rd character has two bits to spare: B would be the same 32 bytes.
	for _, s := range []string{"", good[1:], good + "=", good + "A", good[:42] + "B", "+" + good[1:], "/" + good[1:], good[:42] + "\n", "\r\n" + good[:41]} {
		var key MachineKey
		if err := key.UnmarshalText([]byte(s)); err == nil {
			t.Errorf("machine key %q passes", s)
		}
		var pub PublicKey
		if err := pub.UnmarshalText([]byte(s)); err == nil {
			t.Errorf("public key %q passes", s)
		}
	}
	_, err := ParseID("12")
	if want := `"12" is not an id: it has 64 lower-case hex digits`; err == nil || err.Error() != want {
		t.Errorf("%v want %q", err, want)
	}
}

// A tag is the digest that FORMAT.md section "Tags" lays out, and differs for
// every key, writer and place.
func TestTagOf(t *testing.T) {
	var key, other MachineKey
	var w, v Writer
	other[31], v[19] = 1, 1
	var b bytes.Buffer
	b.WriteString("shedbook-tag-v1\n")
	b.Write(key[:])
	b.Write(w[:])
	binary.Write(&b, binary.BigEndian, uint64(7))
	sum := sha256.Sum256(b.Bytes())
	if got := TagOf(key, w, 7); !bytes.Equal(got[:], sum[:10]) || got.String() != hex.EncodeToString(sum[:10]) {
		t.Errorf("tag %s want %x", got, sum[:10])
	}
	tags := []Tag{TagOf(key, w, 7), TagOf(other, w, 7), TagOf(key, v, 7), TagOf(key, w, 8)}
	slices.SortFunc(tags, func(x, y Tag) int { return bytes.Compare(x[:], y[:]) })
	if len(slices.Compact(tags)) != 4 {
		t.Errorf("tags coincide: %v", tags)
	}
}
