package main

import (
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Whatever words are typed, a line is recorded or refused in plain words with its next step: it never panics, never half writes, never speaks of the
// store's inside. Run against a book with a little history, as a dry run.
func TestAnyLine(t *testing.T) {
	t.Parallel()
	s := newShed(t)
	for _, line := range []string{`counter drill 1000 --done 2026-03-01`, `adjust drill depth=6 --done 2026-03-02`, `swap drill 12 disc --out --to-shelf --done 2026-03-03`,
		`fault drill 9 "hub out" --done 2026-03-04`, `measure drill 1-3 disc-reach --values 5,-,5.2 --done 2026-03-05`, `season open seeding 2026 --done 2026-03-06`} {
		s.must("shedbook " + line)
	}
	before := len(s.entries())
	verbs := []string{"counter", "adjust", "measure", "swap", "did", "fault", "repair", "note", "assume", "correct", "strike", "season open", "machine add", "machine move", "shelf add"}
	words := []string{"drill", "drill2", "tractor", "but", "all", "rest", "and", "to", "setup=spring", "left", "wing", "12", "1-3", "14,31", "opener/2", "opener/99", "opener", "wheel",
		"left-front", "depth", "depth=6", "depth=", "6", "+1", "-1", "-", "1/4", "in", "5psi", "disc", "discs", "arm", "disc-reach", "disc-reach=5", "hub-play", "loose", "grease", "torque-check",
		"worn=5%", "good", "area", "area=1100", "reset", "=", "/", ",", "rough", "12=5.9", "creek", "home", "disc-drill", "seeding", "9999999999999999", "\u202e", "é", strings.Repeat("x", 300)}
	flags := []string{"--moved=3", "--skipped=2", "--result=moved", "--torque=5N.m", "--values=5,6", "--found=5", "--left=6", "--hand=left", "--with=3", "--out", "--in=shelf", "--in=drill:4", "--turned",
		"--from-shelf", "--to-shelf", "--stop", "--tied-up", "--done=yesterday", "--done=2026-03-03", "--done=2030-01-01", "--by=Sam", "--counter=1100", "--counter=area=900", "--closes=none",
		"--cost=a=5", "--minutes=5", "--last=5", "--start=0", "--trip", "--temporary", "--used=hub=1", "--used=600ac", "--machine=drill2", "--again=drill2", "--note=x", "--yes", "--json", "--at=pressure=40psi", "--kind=tractor", "--yard=home"}
	var ids []string
	for _, e := range s.entries() {
		ids = append(ids, e.id[:8])
	}
	inside := regexp.MustCompile(`\b(git|commit|branch|hash|goroutine|panic|nil)\b|%!|\x{202e}`)
	rapid.Check(t, func(t *rapid.T) {
		args := strings.Fields(rapid.SampledFrom(verbs).Draw(t, "verb"))
		if args[0] == "correct" || args[0] == "strike" {
			args = append(args, rapid.SampledFrom(ids).Draw(t, "id"))
		} else if rapid.IntRange(0, 5).Draw(t, "machine?") > 0 {
			args = append(args, rapid.SampledFrom(words[:3]).Draw(t, "machine"))
		}
		args = append(args, rapid.SliceOfN(rapid.SampledFrom(words), 0, 5).Draw(t, "words")...)
		args = append(args, rapid.SliceOfN(rapid.SampledFrom(flags), 0, 3).Draw(t, "flags")...)
		out, errs, code := s.runArgs(nil, append(args, "--dry-run")...)
		switch code {
		case exitDone, exitFailed, exitUsage:
		default:
			t.Fatalf("%q: exit %d\n%s%s", args, code, out, errs)
		}
		if code != exitDone && !strings.HasPrefix(errs, "shedbook: ") && !strings.HasPrefix(out, `{"error":`) {
			t.Fatalf("%q: exit %d without saying why\n%s%s", args, code, out, errs)
		}
		if said := inside.FindString(errs + out); said != "" {
			t.Fatalf("%q: says %q\n%s%s", args, said, out, errs)
		}
	})
	if n := len(s.entries()); n != before {
		t.Errorf("%d entries were written in dry runs", n-before)
	}
}
