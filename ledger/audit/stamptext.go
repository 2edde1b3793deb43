package audit

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"shedbook/ledger"
)

// StampText is a printed stamp, read back.
type StampText struct {
	Book  ledger.ID
	Stamp ledger.ID // the stamp's own entry
	At    time.Time
	Tips  []ledger.Ref // sorted
}

// maxStampText bounds what is read: 256 devices and then some.
const maxStampText = 64 << 10

// ParseStampText reads the text that FORMAT.md section "Stamps" fixes, as a file
// or as typed from paper: blank lines, spaces around words and the line ends of
// any system do not matter. The error names the line.
func ParseStampText(text []byte) (StampText, error) {
	var s StampText
	if len(text) > maxStampText {
		return s, fmt.Errorf("the stamp has %d bytes, more than %d", len(text), maxStampText)
	}
	at := 0 // lines of the text read so far, blank ones left out
	for n, raw := range strings.Split(strings.ReplaceAll(strings.ReplaceAll(string(text), "\r\n", "\n"), "\r", "\n"), "\n") {
		words := strings.Fields(raw)
		if len(words) == 0 {
			continue
		}
		if err := s.line(at, words); err != nil {
			return StampText{}, fmt.Errorf("line %d of the stamp: %w", n+1, err)
		}
		at++
	}
	switch {
	case at == 0:
		return StampText{}, fmt.Errorf("the stamp is empty")
	case len(s.Tips) == 0:
		return StampText{}, fmt.Errorf("the stamp ends before its first \"log\" line")
	}
	return s, nil
}

func (s *StampText) line(at int, words []string) (err error) {
	want := func(name string, n int) error {
		if words[0] != name || len(words) != n+1 {
			return fmt.Errorf("%q, expected %q and %d more", clip(strings.Join(words, " ")), name, n)
		}
		return nil
	}
	switch at {
	case 0:
		switch {
		case len(words) != 3 || words[0] != "shedbook" || words[1] != "stamp":
			return fmt.Errorf("%q, expected \"shedbook stamp v1\"", clip(strings.Join(words, " ")))
		case words[2] != "v1":
			return fmt.Errorf("a stamp of form %q: newer shedbook needed", clip(words[2]))
		}
		return nil
	case 1:
		if err = want("book", 1); err == nil {
			s.Book, err = ledger.ParseID(words[1])
		}
		return err
	case 2:
		if err = want("stamp", 1); err == nil {
			s.Stamp, err = ledger.ParseID(words[1])
		}
		return err
	case 3:
		if err = want("at", 1); err != nil {
			return err
		}
		s.At, err = time.Parse(timeForm, words[1])
		if err != nil || s.At.Format(timeForm) != words[1] {
			return fmt.Errorf("%q is no time: it is written YYYY-MM-DDThh:mm:ssZ", clip(words[1]))
		}
		return nil
	}
	if err = want("log", 3); err != nil {
		return err
	}
	var ref ledger.Ref
	if ref.Writer, err = ledger.ParseWriter(words[1]); err != nil {
		return err
	}
	ref.Seq, err = strconv.ParseUint(words[2], 10, 64)
	if err != nil || ref.Seq < 1 || ref.Seq > ledger.MaxInteger || strconv.FormatUint(ref.Seq, 10) != words[2] {
		return fmt.Errorf("%q is no place in a log", clip(words[2]))
	}
	if ref.ID, err = ledger.ParseID(words[3]); err != nil {
		return err
	}
	if n := len(s.Tips); n > 0 && s.Tips[n-1].Compare(ref) >= 0 {
		return fmt.Errorf("the logs are not sorted, or one stands twice")
	}
	s.Tips = append(s.Tips, ref)
	return nil
}

// Text is the text as it was printed: what is countersigned.
func (s StampText) Text() []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "shedbook stamp v1\nbook %s\nstamp %s\nat %s\n", s.Book, s.Stamp, s.At.Format(timeForm))
	for _, tip := range s.Tips {
		fmt.Fprintf(&b, "log %s %d %s\n", tip.Writer, tip.Seq, tip.ID)
	}
	return b.Bytes()
}

// StampOf reads the stamp of an entry of the book.
func StampOf(e *ledger.Entry) (StampText, error) {
	text, err := ledger.StampText(e)
	if err != nil {
		return StampText{}, err
	}
	return ParseStampText(text)
}

// clip keeps what is quoted short.
func clip(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(slices.Concat(r[:40], []rune("...")))
	}
	return s
}
