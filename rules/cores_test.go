package rules

import (
	"sync/atomic"
	"testing"
)

func TestOnAllCoresCallsEachOnce(t *testing.T) {
	for _, n := range []int{0, 1, 2, 1000} {
		calls := make([]atomic.Int32, n)
		onAllCores(n, func(i int) { calls[i].Add(1) })
		for i := range calls {
			if got := calls[i].Load(); got != 1 {
				t.Fatalf("of %d: %d was called %d times", n, i, got)
			}
		}
	}
}

func TestOnAllCoresPanicsLikeOne(t *testing.T) {
	defer func() {
		if got := recover(); got != "opener 7" {
			t.Fatalf("recovered %v", got)
		}
	}()
	onAllCores(40, func(i int) {
		if i == 7 {
			panic("opener 7")
		}
	})
	t.Fatal("no panic")
}
