package ledger

// The limits of format v1, as FORMAT.md section "Limits" lists them. An entry
// beyond one of the first group is refused by Verify and never made by Sign.
const (
	MaxLine     = 64 << 10  // bytes of one line, its LF included
	MaxSeen     = 256       // entries of `seen`
	MaxNesting  = 16        // objects and arrays inside each other, the line itself being the first
	MaxName     = 64        // bytes of a member name
	MaxKind     = 32        // bytes of a kind
	MaxInteger  = 1<<53 - 1 // greatest magnitude of an integer; also of seq and depth
	MaxSchedule = 48 << 10  // bytes of a schedule's text (checked where schedules are read)
)

// Limits of a book. MaxWriters is checked here (a further admit has no effect);
// the other two are for whoever takes logs in, and are reported by Judge.
const (
	MaxWriters      = 256     // devices a book admits in its life, founder and recovery included
	MaxPendingLogs  = 64      // logs of writers nobody admitted
	MaxPendingBytes = 1 << 20 // bytes of one such log
)

// minPrefix is the least number of hex digits by which an entry may be named.
const minPrefix = 4
