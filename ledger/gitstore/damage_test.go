package gitstore

import (
	"fmt"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var (
	packDigits  = regexp.MustCompile(`pack-[0-9a-f]{8}`)
	foundDigits = regexp.MustCompile(`found/[0-9a-f]{16}`)
)

// said are damages as lines: how bad, the code, whose log, what is wrong, whether
// Mend has something to do, and who had what is lost.
func (y *yard) said(what string, damages []Damage) string {
	var out strings.Builder
	for _, d := range damages {
		fmt.Fprintf(&out, "%s: %s %s", what, d.Severity, d.Code)
		if d.Log != "" {
			fmt.Fprintf(&out, ", %s", d.Log)
		}
		fmt.Fprintf(&out, ": %s", d.Message)
		if d.Mend {
			out.WriteString("; mend")
		}
		for _, h := range d.Holders {
			fmt.Fprintf(&out, "; %s had %d", h.Address, h.Seq)
		}
		out.WriteString("\n")
	}
	return out.String()
}

// plain names logs and folders as a test states them.
func (y *yard) plain(text string) string {
	text = strings.NewReplacer(y.founder.name, "FOUNDER", y.other.name, "CREEK", filepath.Dir(y.s.Dir()), "").Replace(text)
	return foundDigits.ReplaceAllString(packDigits.ReplaceAllString(text, "pack-N"), "found/N")
}

// Each damage is named in one line, mended as far as the folder allows, and the
// rest comes back with the next exchange. Nothing is done without being said, a
// second Mend does nothing, and (in the full run) git itself finds the repository
// whole.
func TestDamages(t *testing.T) {
	home := newYard(t, filepath.Join(t.TempDir(), "home"))
	for _, c := range damageCases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			y := home.at(t, filepath.Dir(home.s.Dir()), filepath.Join(t.TempDir(), "y"))
			c.do(y)
			var got strings.Builder
			s, err := Open(y.s.Dir())
			if err == nil {
				for _, line := range s.Recovered() {
					fmt.Fprintf(&got, "open: %s\n", line)
				}
				_, err = s.Logs()
			}
			if err != nil {
				got.WriteString("open: fails\n")
				if !IsDamage(err) {
					t.Errorf("it is no damage: %v", err)
				}
			}
			s, _, said := y.reread()
			got.WriteString(y.said("said", said))
			m, err := s.Mend()
			if err != nil {
				t.Fatal(err)
			}
			for _, step := range m.Steps {
				got.WriteString("did: ")
				if step.Log != "" {
					got.WriteString(step.Log + ": ")
				}
				got.WriteString(step.Text + "\n")
			}
			if m.Kept != "" && !exists(s.path(filepath.FromSlash(m.Kept))) {
				t.Errorf("there is no %s", m.Kept)
			}
			got.WriteString(y.said("left", m.Left))
			y.wantNoMore(s)
			s, err = Open(y.s.Dir())
			if err != nil {
				t.Fatal(err)
			}
			r := exchangeWith(t, s, y.stick)
			if len(r.Came) > 0 {
				fmt.Fprintf(&got, "came: %d\n", len(r.Came))
			}
			if len(r.Sent)+len(r.Restored)+len(r.Refused)+len(r.Forks) > 0 {
				t.Errorf("exchanged: %+v", r)
			}
			if diff := cmp.Diff(c.want, "\n"+y.plain(got.String())); diff != "" {
				t.Errorf("-want +got\n%s", diff)
			}
			y.wantWhole()
		})
	}
}

// wantNoMore checks that a second Mend finds nothing to do.
func (y *yard) wantNoMore(s *Store) {
	y.t.Helper()
	again, err := s.Mend()
	if err != nil || len(again.Steps) > 0 || again.Kept != "" {
		y.t.Errorf("a second time: %v, %v", again.Steps, err)
	}
}

// wantWhole checks that every entry is there, that nothing is said of the folder,
// and that git finds nothing either.
func (y *yard) wantWhole() {
	y.t.Helper()
	s, held, damages := y.reread()
	if diff := cmp.Diff(y.whole, held); diff != "" {
		y.t.Errorf("entries differ in the end")
	}
	if len(damages) > 0 {
		y.t.Errorf("in the end:\n%s", y.said("said", damages))
	}
	wantSound(y.t, s)
	if !full() {
		return
	}
	out, err := gitCommand(s, "fsck", "--strict", "--full", "--no-dangling").CombinedOutput()
	if err != nil || len(strings.TrimSpace(string(out))) > 0 {
		y.t.Errorf("git fsck: %v\n%s", err, out)
	}
}
