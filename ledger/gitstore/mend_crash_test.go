package gitstore

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// A mending that the process dies in, or the disk refuses, at any of its steps is
// completed by the next one: the same entries are held as after one that was let
// alone, and an exchange brings the rest.
func TestMendStopsAnywhere(t *testing.T) {
	home := newYard(t, filepath.Join(t.TempDir(), "home"))
	stride := 41
	if full() {
		stride = 3
	}
	refused := errors.New("the disk refuses")
	for name, hit := range map[string]func(op, path string) error{
		"killed":  func(op, path string) error { panic(crash{op, path}) },
		"refused": func(string, string) error { return refused },
	} {
		for _, damage := range []string{"a full file is missing, and cache/ too", "a packed file is cut short and has no list", "pending/ is damaged and the pieces are gone"} {
			t.Run(name+", "+damage, func(t *testing.T) {
				t.Parallel()
				damaged := home.at(t, filepath.Dir(home.s.Dir()), filepath.Join(t.TempDir(), "y"))
				damageNamed(t, damage)(damaged)
				dir := filepath.Dir(damaged.s.Dir())
				var want map[string][][]byte
				for n := 0; ; n += stride {
					y := *damaged
					at := filepath.Join(t.TempDir(), fmt.Sprint(n), "book")
					copyDir(t, filepath.Join(dir, "book"), at)
					s, err := OpenDamaged(at)
					if err != nil {
						t.Fatal(err)
					}
					where := ""
					steps, crashed, err := until(s, n, func(op, path string) error {
						where = fmt.Sprintf("step %d, %s of %s", n, op, strings.TrimPrefix(path, at))
						return hit(op, path)
					}, func() error { _, err := s.Mend(); return err })
					if n == 0 {
						if err != nil || crashed != nil {
							t.Fatal(err, crashed)
						}
						_, want, _ = (&yard{t: t, s: s}).reread()
						continue
					}
					if steps < n {
						if n < 20 {
							t.Errorf("only %d steps were tried", n)
						}
						return
					}
					if err != nil && !errors.Is(err, refused) {
						t.Fatalf("%s: %v", where, err)
					}
					if s, err = OpenDamaged(at); err != nil {
						t.Fatal(err)
					}
					if _, err := s.Mend(); err != nil {
						t.Fatalf("%s: again: %v", where, err)
					}
					y.t, y.s = t, s
					y.wantNoMore(s)
					_, held, _ := y.reread()
					if !cmp.Equal(want, held) {
						t.Errorf("%s: other entries are held than after a mending that was let alone", where)
					}
					if s, err = Open(at); err != nil {
						t.Fatalf("%s: %v", where, err)
					}
					exchangeWith(t, s, damaged.stick)
					y.wantWhole()
					if err := os.RemoveAll(filepath.Dir(at)); err != nil {
						t.Fatal(err)
					}
				}
			})
		}
	}
}

func damageNamed(t *testing.T, name string) func(*yard) {
	t.Helper()
	for _, c := range damageCases {
		if c.name == name {
			return c.do
		}
	}
	t.Fatalf("no damage is called %q", name)
	return nil
}
