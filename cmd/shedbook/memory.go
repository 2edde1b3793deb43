package main

import (
	"os"
	"runtime"
	"runtime/debug"
)

// ampleHeap is up to where memory is spent to save time.
const ampleHeap = 64 << 20

// spendMemory has rubbish collected seldom as long as there is little of it: most commands end before it matters, and a fourth of their time went into
// it. Once more than ampleHeap is in use, it is collected as Go does by default. GOGC, where set, rules.
func spendMemory() {
	if os.Getenv("GOGC") != "" {
		return
	}
	debug.SetGCPercent(400)
	type mark struct{ _ [16]byte }
	var collected func(*mark)
	collected = func(m *mark) { // runs after each collection
		var s runtime.MemStats
		if runtime.ReadMemStats(&s); s.HeapAlloc > ampleHeap {
			debug.SetGCPercent(100)
			return
		}
		runtime.SetFinalizer(m, collected)
	}
	runtime.SetFinalizer(new(mark), collected)
}
