package main

import (
	"errors"
	"strings"

	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/cmd/shedbook/internal/photo"
	"shedbook/ledger"
	"shedbook/ledger/gitstore"
	"shedbook/rules/record"
)

// formPhoto is the name under which the photo of a form is found by --paper. No file of that name is looked for.
const formPhoto = "photo of the form"

// takePhoto lets the line of a form find the photo that came with it, as if --paper named its file.
func (w *writing) takePhoto(a *phone.Act) {
	if a.Photo == nil {
		return
	}
	name := a.Photo.Name
	if strings.TrimSpace(name) == "" {
		name = "photo"
	}
	w.c.papers = map[string]*attached{formPhoto: attachedAs(name, a.Photo.Paper, a.Photo.Was)}
	a.Flags = append(append([]string(nil), a.Flags...), "--paper="+formPhoto)
}

// shots are the papers of an entry as a page leads to them.
func shots(p *record.Private) (out []phone.Shot) {
	if p == nil {
		return nil
	}
	for _, q := range p.Papers {
		out = append(out, phone.Shot{Digest: q.Digest, Name: q.Name, Picture: q.Type == photo.JPEG})
	}
	return out
}

// Paper is a paper of the book. What it is, is seen by its first bytes and not by what an entry says of it.
func (s *shop) Paper(digest string) (data []byte, kind string, err error) {
	id, err := ledger.ParseID(digest)
	if err != nil {
		return nil, "", phone.ErrNone
	}
	err = s.with(func(b *book) error {
		data, err = b.store.Paper(id)
		if errors.Is(err, gitstore.ErrNoPaper) {
			return failed("no-paper", "it comes with the next entries of the device that recorded it", "this paper is not in the laptop's book")
		}
		return err
	})
	switch {
	case err != nil:
		return nil, "", err
	case strings.HasPrefix(string(data[:min(len(data), 3)]), "\xff\xd8\xff"):
		kind = photo.JPEG
	case strings.HasPrefix(string(data[:min(len(data), 5)]), "%PDF-"):
		kind = photo.PDF
	}
	return data, kind, nil
}
