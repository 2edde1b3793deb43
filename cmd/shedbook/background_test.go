package main

import "testing"

// The answer is given as often as it is asked, and so is a panic.
func TestInBackground(t *testing.T) {
	times := 0
	answer := inBackground(func() (int, error) { times++; return 7, nil })
	for range 3 {
		if n, err := answer(); n != 7 || err != nil {
			t.Errorf("%d, %v", n, err)
		}
	}
	if times != 1 {
		t.Errorf("worked out %d times", times)
	}
	fails := inBackground(func() (int, error) { panic("as it is") })
	for range 2 {
		func() {
			defer func() {
				if p := recover(); p != "as it is" {
					t.Errorf("panic %v", p)
				}
			}()
			_, _ = fails()
			t.Error("no panic")
		}()
	}
}
