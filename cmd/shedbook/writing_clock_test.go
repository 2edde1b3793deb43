package main

import (
	"errors"
	"io/fs"
	"strings"
	"testing"
)

// TestClockBehind wants a warning with both times and the next step where this computer's clock stands more than a day before the book's newest entry, and
// the entry recorded all the same.
func TestClockBehind(t *testing.T) {
	b := newTestBook(t)
	b.at("2026-04-05T10:00")
	b.must("machine", "add", "drill", "disc-drill")
	held := func(b *testBook) int {
		bk, err := b.call().open()
		if err != nil {
			t.Fatal(err)
		}
		defer bk.store.Close()
		return len(bk.log.Entries())
	}
	for _, test := range []struct {
		now   string
		warns bool
	}{{"2026-04-05T10:00", false}, {"2026-04-04T10:00", false}, {"2026-04-04T09:59", true}, {"2025-04-01T08:00", true}, {"2026-04-06T08:00", false}} {
		b.at(test.now)
		before := held(b)
		_, said, code := b.run("note", "drill", "written at "+test.now)
		if after := held(b); code != 0 || after != before+1 {
			t.Errorf("%s: exit %d, %d entries after %d\n%s", test.now, code, after, before, said)
		}
		want := "the clock of this computer says " + strings.Replace(test.now, "T", " ", 1) + ", and the newest entry in the book was written on 2026-04-05 10:00: "
		if warned := strings.Contains(said, want) && strings.Contains(said, "\n  next: set this clock"); warned != test.warns || strings.Contains(said, "clock") != test.warns {
			t.Errorf("%s: warned %t, want %t\n%s", test.now, warned, test.warns, said)
		}
	}
}

// TestOpenErrorsSayTheNextStep holds what is said of a book that cannot be opened to place and next step. One that may not be read is not called no book.
func TestOpenErrorsSayTheNextStep(t *testing.T) {
	for name, test := range map[string]struct {
		err  error
		want string
	}{
		"not allowed": {&fs.PathError{Op: "stat", Path: "/shed/book/local.toml", Err: fs.ErrPermission}, "you may not read the book in /shed/book: "},
		"any other":   {errors.New("input/output error"), "the book in /shed/book cannot be opened: input/output error"},
	} {
		t.Run(name, func(t *testing.T) {
			var said *userError
			if err := openError("/shed/book", test.err); !errors.As(err, &said) || !strings.HasPrefix(said.text, test.want) || said.hint == "" {
				t.Errorf("%v, next: %v", err, said)
			}
		})
	}
}
