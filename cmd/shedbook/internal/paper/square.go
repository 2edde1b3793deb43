package paper

import (
	"fmt"
	"strings"
)

// Square is a code that a phone's camera reads. Its quiet zone is part of it.
type Square struct {
	Modules int                 // on a side, without the quiet zone
	Dark    func(x, y int) bool // of each module
	Says    string              // where it leads, in words
}

// squareQuiet is how many light modules stand around a code (ISO/IEC 18004).
const squareQuiet = 4

// Side is the whole width in modules.
func (s *Square) Side() int { return s.Modules + 2*squareQuiet }

// Path draws the dark modules, a run of them at a time.
func (s *Square) Path() string {
	var b strings.Builder
	for y := range s.Modules {
		for x := 0; x < s.Modules; x++ {
			n := 0
			for x+n < s.Modules && s.Dark(x+n, y) {
				n++
			}
			if n > 0 {
				fmt.Fprintf(&b, "M%d %dh%dv1h-%dz", x+squareQuiet, y+squareQuiet, n, n)
				x += n
			}
		}
	}
	return b.String()
}
