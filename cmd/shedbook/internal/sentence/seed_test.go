package sentence

import "flag"

// Property tests draw the same cases on every run; -rapid.seed=0 draws others.
func init() {
	if err := flag.Set("rapid.seed", "20260401"); err != nil {
		panic(err)
	}
}
