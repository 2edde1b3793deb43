package ledger

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"
)

// someWork are drafts of a machine's work with text, numbers and private parts of many lengths.
func someWork(w *world, n int) []Draft {
	var out []Draft
	for i := range n {
		d := Draft{Class: Work, Kind: "note", Machine: &w.machine, At: w.now.Add(time.Duration(i) * time.Minute),
			Record: map[string]any{"n": i, "list": []any{i, fmt.Sprint("place ", i), true}, "value": "5.25 in"}}
		if i%3 > 0 {
			d.Private = map[string]any{"text": fmt.Sprintf("said \"%d\"\n%*s Mu\u0308hle", i, i%50, "")}
		}
		out = append(out, d)
	}
	return out
}

// Law: a Signing gives byte for byte what Sign gives, one entry after the other, from the same random source, and each of its lines verifies.
func TestLawSigningIsSign(t *testing.T) {
	const n = 300
	var lines [2][][]byte
	for round := range lines {
		fay, _ := newWorld(t).found("fay")
		salts := rand.NewChaCha8([32]byte{7})
		s := NewSigning(fay.key)
		var made []*Entry
		for _, d := range someWork(fay.world, n) {
			at, err := fay.book.Next(fay.writer())
			if err != nil {
				t.Fatal(err)
			}
			var e *Entry
			if round == 0 {
				e, err = Sign(d, at, fay.key, salts)
			} else {
				e, err = s.Sign(d, at, salts)
			}
			if err == nil {
				err = fay.book.Append(e)
			}
			if err != nil {
				t.Fatal(err)
			}
			made = append(made, e)
		}
		if err := s.Wait(); err != nil {
			t.Fatal(err)
		}
		for _, e := range made {
			again, err := Verify(e.Line(), fay.key.Public())
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(again.Signature(), e.Signature()) {
				t.Fatal("the entry's signature is not that of its line")
			}
			lines[round] = append(lines[round], e.Line())
		}
	}
	for i := range n {
		if !bytes.Equal(lines[0][i], lines[1][i]) {
			t.Fatalf("entry %d\n%s want\n%s", i, lines[1][i], lines[0][i])
		}
	}
}

// failsAt signs well but for one message.
type failsAt struct {
	*Key
	n     *int
	at    int
	wrong bool // it answers with a signature of another message; else with an error
}

func (f failsAt) Sign(message []byte) ([]byte, error) {
	if *f.n++; *f.n != f.at {
		return f.Key.Sign(message)
	}
	if f.wrong {
		return f.Key.Sign(append([]byte{0}, message...))
	}
	return nil, errors.New("the agent is gone")
}

// One bad signature among many, the first, one of the middle or the last, is found by Wait; a signer that refused is not asked again.
func TestSigningFails(t *testing.T) {
	const n = 40
	for _, wrong := range []bool{false, true} {
		for _, at := range []int{1, 17, n} {
			fay, _ := newWorld(t).found("fay")
			asked := 0
			s := NewSigning(failsAt{fay.key, &asked, at, wrong})
			for _, d := range someWork(fay.world, n) {
				next, err := fay.book.Next(fay.writer())
				if err != nil {
					t.Fatal(err)
				}
				e, err := s.Sign(d, next, fay.random)
				if err != nil {
					break // it has failed already
				}
				if err := fay.book.Append(e); err != nil {
					t.Fatal(err)
				}
			}
			err := s.Wait()
			if wrong && !errors.Is(err, ErrSignature) || !wrong && (err == nil || err.Error() != "sign note: the agent is gone") {
				t.Errorf("%d: %v", at, err)
			}
			if !wrong && asked != at {
				t.Errorf("%d: the signer was asked %d times", at, asked)
			}
			if s.Wait() == nil {
				t.Error("the second Wait forgets the error")
			}
		}
	}
}
