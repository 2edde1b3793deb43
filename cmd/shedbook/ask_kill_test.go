package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// typist answers a round in a process of its own, by the place that is asked for, and may pull the plug.
type typist struct {
	t    *testing.T
	b    *testBook
	said map[string]int // how often a question was answered
	out  string         // what was printed at the end

	between func(question string) // called before a question is answered
}

// answer is what the card says: most places have a value, one cannot be reached, one is left out and known when asked once more, one looks like a slip.
func (y *typist) answer(question string) string {
	y.said[question]++
	again := y.said[question] > 1
	switch {
	case strings.HasPrefix(question, "Carry on?"), strings.HasPrefix(question, "Record it?"):
		return ""
	case question == "opener 12:":
		return "x hose in the way"
	case question == "opener 30:" && !again:
		return ""
	case question == "opener 9:":
		return "59"
	}
	var n int
	if _, err := fmt.Sscanf(question, "opener %d:", &n); err != nil {
		y.t.Fatalf("asked %q", question)
	}
	return fmt.Sprintf("5.%d", 1+n%8)
}

// run answers until the process ends or has taken so many answers: then it is killed, once it has put the next question and so acknowledged the last answer.
func (y *typist) run(answers int) (ended bool) {
	exe, err := os.Executable()
	if err != nil {
		y.t.Fatal(err)
	}
	cmd := exec.Command(exe)
	cmd.Args = []string{"shedbook", "measure", "drill", "disc-reach", "--ask"}
	cmd.Env = append(cmd.Env, "PATH="+os.Getenv("PATH"), "SHEDBOOK_TEST_NOW="+y.b.now.Format("2006-01-02T15:04"))
	for k, v := range y.b.vars {
		cmd.Env = append(cmd.Env, k+"="+v)
	}
	keys, err := cmd.StdinPipe()
	if err != nil {
		y.t.Fatal(err)
	}
	talk, err := cmd.StderrPipe()
	if err != nil {
		y.t.Fatal(err)
	}
	var out bytes.Buffer
	cmd.Stdout = &out
	if err := cmd.Start(); err != nil {
		y.t.Fatal(err)
	}
	guard := time.AfterFunc(time.Minute, func() { _ = cmd.Process.Kill() })
	defer guard.Stop()
	for {
		question, more := nextQuestion(talk)
		if !more {
			break
		}
		if answers == 0 {
			_ = cmd.Process.Kill()
			_ = cmd.Wait()
			return false
		}
		if !strings.HasPrefix(question, "Carry on?") {
			answers--
		}
		if y.between != nil {
			y.between(question)
		}
		if _, err := io.WriteString(keys, y.answer(question)+"\n"); err != nil {
			break
		}
	}
	if err := cmd.Wait(); err != nil {
		y.t.Fatalf("%v\n%s", err, out.String())
	}
	y.out = out.String()
	return true
}

// nextQuestion reads what is said up to a question: the last line, ended by a colon and a blank.
func nextQuestion(r io.Reader) (string, bool) {
	var line []byte
	for one := make([]byte, 1); ; {
		if _, err := io.ReadFull(r, one); err != nil {
			return "", false
		}
		switch line = append(line, one[0]); {
		case one[0] == '\n':
			line = line[:0]
		case bytes.HasSuffix(line, []byte(": ")) && (bytes.HasPrefix(line, []byte("opener ")) || bytes.HasPrefix(line, []byte("Carry on?")) || bytes.HasPrefix(line, []byte("Record it?"))):
			return strings.TrimSpace(string(line)), true
		}
	}
}

// newTypist is a fresh book with a drill of 48 openers.
func newTypist(t *testing.T) *typist {
	b := newTestBook(t)
	b.must("machine", "add", "drill", "disc-drill", "--options", "openers=48", "--counter", "area=1600ac")
	return &typist{t: t, b: b, said: map[string]int{}}
}

// measured are the records of readings in the book, without what differs from book to book.
func (y *typist) measured() []any {
	y.t.Helper()
	var h struct {
		Entries []struct {
			Kind, Sentence string
			Record         map[string]any
			Private        any
		}
	}
	if err := json.Unmarshal([]byte(y.b.must("history", "drill", "--all", "--json")), &h); err != nil {
		y.t.Fatal(err)
	}
	var out []any
	for _, e := range h.Entries {
		if e.Kind == "measure" {
			delete(e.Record, "machine")
			out = append(out, []any{e.Sentence, e.Record, e.Private})
		}
	}
	return out
}

// A process killed after any of the answers to a card of 48 openers loses none: the same line carries on at the next one, and in the end there is one entry,
// that of a round nobody disturbed, and no draft. One book is killed after every single answer; SHEDBOOK_TEST=full kills once at each answer, a book each.
func TestKilledAtEachAnswer(t *testing.T) {
	quiet := newTypist(t)
	if !quiet.run(-1) {
		t.Fatal("it did not end")
	}
	want := quiet.measured()
	if len(want) != 1 {
		t.Fatalf("%d entries of an undisturbed round", len(want))
	}
	const answers = 48 + 1 + 1 + 1 // one is asked about, one once more, one to sign
	check := func(y *typist) {
		t.Helper()
		if diff := cmp.Diff(want, y.measured()); diff != "" {
			t.Error(diff)
		}
		for q, n := range y.said {
			if limit := quiet.said[q]; n != limit && !strings.HasPrefix(q, "Carry on?") {
				t.Errorf("%s was answered %d times, undisturbed %d times", q, n, limit)
			}
		}
		left, _ := filepath.Glob(filepath.Join(y.b.dir, "drafts", "measure-*[0-9a-f]"))
		if len(left) > 0 {
			t.Errorf("left behind: %s", left)
		}
	}
	t.Run("every", func(t *testing.T) {
		y := newTypist(t)
		runs := 1
		for !y.run(1) {
			if runs++; runs > 2*answers {
				t.Fatal("it gets nowhere")
			}
		}
		if runs != answers {
			t.Errorf("%d runs for %d answers", runs, answers)
		}
		check(y)
	})
	if !fullTests {
		return
	}
	for n := range answers {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			y := newTypist(t)
			if y.run(n) {
				t.Fatal("it ended by itself")
			}
			if !y.run(-1) {
				t.Fatal("it did not end")
			}
			check(y)
		})
	}
}

// Recorded, and the power gone before the draft was: the same line notices it, records nothing again, and clears the draft.
func TestRecordedButDraftLeft(t *testing.T) {
	y := newTypist(t)
	if y.run(10) {
		t.Fatal("it ended by itself")
	}
	files, err := filepath.Glob(filepath.Join(y.b.dir, "drafts", "measure-*[0-9a-f]"))
	if err != nil || len(files) != 1 {
		t.Fatal(files, err)
	}
	kept := filepath.Join(y.b.dir, "kept") // another name of the same file: it has what is written to the draft, and outlives it
	if err := os.Link(files[0], kept); err != nil {
		t.Fatal(err)
	}
	if !y.run(-1) {
		t.Fatal("it did not end")
	}
	if _, err := os.Stat(files[0]); !os.IsNotExist(err) {
		t.Fatalf("the draft is still there: %v", err)
	}
	if err := os.Rename(kept, files[0]); err != nil {
		t.Fatal(err)
	}
	want := y.measured()
	_, id, _ := strings.Cut(y.out, "[")
	id, _, _ = strings.Cut(id, "]")
	_, errs, code := y.b.run("measure", "drill", "disc-reach", "--ask")
	if code != exitDone || !strings.Contains(errs, "is recorded already ["+id+"]; only its draft had stayed") {
		t.Errorf("exit %d: %s", code, errs)
	}
	if diff := cmp.Diff(want, y.measured()); diff != "" {
		t.Error(diff)
	}
	if _, err := os.Stat(files[0]); !os.IsNotExist(err) {
		t.Errorf("the draft is still there: %v", err)
	}
}

// Two terminals on one round: the second is told, and asks nothing; the first goes on undisturbed.
func TestTwoTerminals(t *testing.T) {
	y := newTypist(t)
	answer, told := "", false
	y.between = func(question string) {
		if question != "opener 13:" || told {
			return
		}
		told = true
		_, errs, code := y.b.run("measure", "drill", "disc-reach", "--ask")
		if want := "shedbook: drill: this is being keyed in on another terminal already\n  next: finish it there, or type stop there and carry on here\n"; code != exitFailed || errs != want {
			t.Errorf("exit %d: %s", code, errs)
		}
		_, answer, _ = y.b.run("measure", "drill", "seed-depth", "--ask") // another reading is another round
	}
	if !y.run(-1) {
		t.Fatal("it did not end")
	}
	if !told || !strings.Contains(answer, "opener 1: ") || len(y.measured()) != 1 {
		t.Errorf("told %v, %d entries\n%s", told, len(y.measured()), answer)
	}
}
