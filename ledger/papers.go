package ledger

import (
	"bytes"
	"encoding/json"
)

// Limits on papers (FORMAT.md, "Limits").
const (
	MaxPaper             = 4 << 20  // bytes of one paper
	MaxPapers            = 10000    // papers of one log
	MaxPaperBytes        = 1 << 30  // bytes of papers of one log that one exchange takes in
	MaxPendingPaperBytes = 16 << 20 // the same, of a device nobody admitted
)

// NamedPapers returns the digests of the papers that an entry's line names in
// its private part, in the order they stand there. Nothing else of a record is
// looked at: which papers lie beside a log depends on this alone. What is not of
// the form of FORMAT.md names none.
func NamedPapers(line []byte) []ID {
	if !bytes.Contains(line, []byte(`"papers":[`)) {
		return nil
	}
	var entry struct {
		Private struct {
			Record struct {
				Papers []struct {
					Digest string `json:"digest"`
				} `json:"papers"`
			} `json:"record"`
		} `json:"private"`
	}
	if json.Unmarshal(line, &entry) != nil {
		return nil
	}
	var all []ID
	for _, p := range entry.Private.Record.Papers {
		if id, err := ParseID(p.Digest); err == nil {
			all = append(all, id)
		}
	}
	return all
}
