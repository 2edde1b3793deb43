package main

import (
	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/phrase"
	"shedbook/rules/record"
)

var noteVerb = &verb{kind: "note", form: phrase.Note, bind: bindNoteWork, build: buildNote}

func bindNoteWork(s *said, fs *pflag.FlagSet) { s.bindWork(fs) }

func noteCommand() *command {
	s := &said{}
	return &command{
		name: "note", section: "in the shed", brief: "record a remark", writes: true,
		usage:    []string{"note MACHINE [PLACES] WORDS"},
		examples: []string{"note drill \"seed tubes swapped end for end\"", "note drill opener/12 \"zerk turned inwards\""},
		about:    "What is wrong and has to be put right is a fault: that stays in the list of work.",
		flags:    func(fs *pflag.FlagSet) { bindNoteWork(s, fs) },
		run:      recordCommand(noteVerb, s),
	}
}

func buildNote(l *line) (record.Record, *record.Private, error) {
	r := &record.Note{}
	if old := l.oldRecord(); old != nil {
		*r = *old.(*record.Note)
	}
	var err error
	if r.Work, err = l.work(); err != nil {
		return nil, nil, err
	}
	if r.Positions, _, r.Said, err = l.spoken(r.Positions, "", r.Said); err != nil {
		return nil, nil, err
	}
	p, err := l.private(l.ph.Text)
	return r, p, err
}
