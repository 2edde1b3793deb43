package schedule

import "testing"

func TestBuiltins(t *testing.T) {
	for _, name := range []string{"disc-drill", "tractor"} {
		s, ok := Builtin(name)
		if !ok {
			t.Fatalf("no built-in %q", name)
		}
		if _, err := s.Fit(nil, nil, nil); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}
