package quantity_test

import (
	"flag"
	"fmt"
	"os"
	"testing"
)

// TestMain fixes the seed of the property tests, so that a plain run always tries the same amounts; SHEDBOOK_TEST=full tries many more, from a
// new seed each time. Flags given to go test win.
func TestMain(m *testing.M) {
	flag.Parse()
	given := map[string]bool{}
	flag.Visit(func(f *flag.Flag) { given[f.Name] = true })
	set := func(name, value string) {
		if given[name] {
			return
		}
		if err := flag.Set(name, value); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	if os.Getenv("SHEDBOOK_TEST") == "full" {
		set("rapid.checks", "50000")
	} else {
		set("rapid.checks", "500")
		set("rapid.seed", "20260401")
	}
	os.Exit(m.Run())
}
