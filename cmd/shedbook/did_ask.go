package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"shedbook/rules"
)

// doneJob is one job of a card that came back: the words and flags by which did would record it.
type doneJob struct {
	s     *said
	words []string // after the machine's name
}

// askDone goes through what a job card of the day lists, in its order, or through the jobs named, and asks of each whether it is done and where not. Nothing
// is kept that was not said; the end of the input ends the round.
func (c *call) askDone(s *said) ([]doneJob, error) {
	b, err := c.open()
	if err != nil {
		return nil, err
	}
	done, err := s.when(c.env)
	if err != nil {
		return nil, err
	}
	st, err := b.state(done.Date(), "")
	if err != nil {
		return nil, err
	}
	m, err := findMachine(st, strings.ToLower(c.args[0]))
	if err != nil {
		return nil, err
	}
	tasks, err := c.askedTasks(st, m, c.args[1:])
	if err != nil {
		return nil, err
	}
	c.say("%s, %s. y done everywhere, but 14,31 left those out, only 1-24 just those, Enter not done, Ctrl-D ends.\n", m.Name, weekday(done))
	var out []doneJob
	for _, t := range tasks {
		d, err := c.askJob(b, s, m, t, len(out) == 0)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		if d != nil {
			out = append(out, *d)
		}
	}
	if len(out) == 0 {
		return nil, failed("no-answer", "", "nothing was recorded: no job was said to be done")
	}
	c.say("%s of %d said to be done\n", does(fmt.Sprint(len(out)), len(out), "job", "jobs"), len(tasks))
	if c.json && len(out) > 1 {
		return nil, usage("leave --json out", "%d jobs are %d answers, and --json is one object", len(out), len(out))
	}
	return out, nil
}

// askedTasks are those of the card, or the jobs named, in the order in which they are named.
func (c *call) askedTasks(st *rules.State, m *rules.Machine, names []string) ([]*cardTask, error) {
	var out []*cardTask
	for _, name := range names {
		if m.Fitted == nil {
			break
		}
		job, ok := m.Fitted.Job(strings.ToLower(name))
		if !ok {
			var known []string
			for i := range m.Fitted.Jobs {
				known = append(known, m.Fitted.Jobs[i].Name)
			}
			return nil, failed("unknown-word", "shedbook schedule show "+m.Name, "%s has no job %q%s", m.Name, name, didYouMean(name, known))
		}
		t := &cardTask{at: m.Fitted.All(job.Of)}
		if job.Group != "" {
			t.at, _ = m.Fitted.GroupPositions(job.Group)
		}
		t.Machine, t.Job, t.Title = m.ID, job.Name, job.Title
		out = append(out, t)
	}
	if len(names) > 0 && len(out) > 0 {
		return out, nil
	}
	day, words, err := c.cardDay(st, "")
	if err != nil {
		return nil, err
	}
	prep := prepared{st: st, words: words}
	if err := prep.gather(preparing{machine: m.Name}, day); err != nil {
		return nil, err
	}
	for _, k := range c.cardsOf(prep) {
		for _, t := range k.tasks {
			if t.Job != "" {
				out = append(out, t)
			}
		}
	}
	if len(out) == 0 {
		return nil, failed("nothing-due", "name the job: shedbook did "+m.Name+" grease --ask", "no job of %s is due or comes due within two weeks", m.Name)
	}
	return out, nil
}

// askJob asks of one job until it is answered. nil: not done.
func (c *call) askJob(b *book, s *said, m *rules.Machine, t *cardTask, first bool) (*doneJob, error) {
	job, _ := m.Fitted.Job(t.Job)
	question := t.Job
	if !t.at.IsZero() {
		question += ", " + m.Fitted.Describe(t.at, job.Of)
	}
	if len(t.lines) > 0 {
		question += " (" + t.stands(c) + ")"
	}
	for {
		said, err := c.ask(question + ":")
		if err != nil {
			return nil, err
		}
		var d doneJob
		word, rest, _ := strings.Cut(strings.TrimSpace(said), " ")
		places := []string{}
		if !t.at.IsZero() && !m.Fitted.All(job.Of).Equal(t.at) {
			places = strings.Fields(placeWords(t.at))
		}
		switch strings.ToLower(word) {
		case "", "n", "no":
			return nil, nil
		case "y", "yes":
			d.words = append(places, t.Job)
		case "but":
			d.words = append(append(places, t.Job, "but"), strings.Fields(rest)...)
		case "only":
			d.words = append(strings.Fields(rest), t.Job)
		default:
			c.say("  %q? y, n, but 14,31 or only 1-24\n", said)
			continue
		}
		var more []string
		if slices.Contains(job.Results, "moved") {
			moved, err := c.ask("  which had moved (Enter: none):")
			if err != nil {
				return nil, err
			}
			if moved = strings.TrimSpace(moved); moved == "" {
				moved = "none"
			}
			more = []string{"--moved=" + moved}
		}
		if d.s, err = c.saidAgain(s, first, more); err != nil {
			return nil, err
		}
		if err := c.tryDone(b, m, &d); err != nil {
			c.say("  %v\n", err)
			continue
		}
		return &d, nil
	}
}

// tryDone makes the record without writing it, so that a slip is told while the card is at hand.
func (c *call) tryDone(b *book, m *rules.Machine, d *doneJob) error {
	l, err := (&writing{book: b}).line(didVerb, d.s, m.Name, d.words)
	if err != nil {
		return err
	}
	_, _, err = buildDid(l)
	return err
}

// saidAgain is what was said on the command line, for one job of several: when and by whom of each, what counts once (counters, minutes, money, a note) of the
// first only.
func (c *call) saidAgain(s *said, first bool, more []string) (*said, error) {
	return parseSaid("did", bindDid, append(more, flagArgs(s, func(name string) bool {
		return (first || name == "done" || name == "by" || name == "who") && name != "moved"
	})...))
}

// recordDone records the jobs in one run: all of them are safe together, or none is.
func (c *call) recordDone(jobs []doneJob) error {
	machine := c.args[0]
	return c.record(func(w *writing, sure sureOf) error {
		for i := range jobs {
			l, err := w.line(didVerb, jobs[i].s, machine, jobs[i].words)
			if err != nil {
				return err
			}
			if err := l.write(sure); err != nil {
				return err
			}
		}
		return nil
	})
}
