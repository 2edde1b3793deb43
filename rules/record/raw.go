package record

import "encoding/json"

// Raw is an encoded record inside a Correct.
type Raw = json.RawMessage
