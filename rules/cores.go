package rules

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// onAllCores calls f for 0 to n-1, one after another on each core, in no order: f writes to a place of its own. What a call panics with is thrown again
// here, as if there had been one core.
func onAllCores(n int, f func(i int)) {
	var next atomic.Int64
	var wait sync.WaitGroup
	var failed sync.Once
	var why any
	for range min(runtime.GOMAXPROCS(0), n) {
		wait.Go(func() {
			defer func() {
				if p := recover(); p != nil {
					failed.Do(func() { why = p })
				}
			}()
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				f(i)
			}
		})
	}
	wait.Wait()
	if why != nil {
		panic(why)
	}
}
