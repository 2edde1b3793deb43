package main

import "sync"

// inBackground starts a piece of work on another core. What it returns waits for the answer, and gives it as often as it is asked; a panic of the work is thrown
// again there.
func inBackground[T any](work func() (T, error)) func() (T, error) {
	type answer struct {
		got   T
		err   error
		fault any
	}
	done := make(chan answer, 1)
	go func() {
		var a answer
		defer func() { a.fault = recover(); done <- a }()
		a.got, a.err = work()
	}()
	return sync.OnceValues(func() (T, error) {
		a := <-done
		if a.fault != nil {
			panic(a.fault)
		}
		return a.got, a.err
	})
}
