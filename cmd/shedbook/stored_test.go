package main

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"testing"
)

// idOf is an entry's id: SHA-256 of its canonical head bytes (ledger/FORMAT.md), which in a canonical line stand as they are.
func idOf(t *testing.T, line []byte) string {
	var parts struct {
		Head json.RawMessage `json:"head"`
	}
	if err := json.Unmarshal(line, &parts); err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(parts.Head)
	return hex.EncodeToString(sum[:])
}

// idOfKind is the id of the first entry of a kind in the founder's log.
func (s *shed) idOfKind(kind string) string { return s.idOfName(kind, "") }

// idOfName is the id of the first entry of a kind whose record has that name.
func (s *shed) idOfName(kind, name string) string {
	s.t.Helper()
	for _, e := range s.entries() {
		if got, _ := e.record["name"].(string); e.kind == kind && (name == "" || got == name) {
			return e.id
		}
	}
	s.t.Fatalf("no %s %q in the book", kind, name)
	return ""
}
