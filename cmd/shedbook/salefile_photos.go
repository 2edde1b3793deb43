package main

import (
	"bytes"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/cmd/shedbook/internal/photo"
	"shedbook/ledger"
	"shedbook/rules"
	"shedbook/rules/record"
)

// What photos may take of a page that is to stay under a megabyte.
const (
	salePhotos     = 8
	salePhotoBytes = 160 << 10
	machineLong    = 480 // pixels of the longer side
	jobLong        = 240
)

// photos are those of the machine, kept with the entry that added it, and of its last large jobs, as far as the evidence names them; else room for one.
func (s *saleFile) photos() paper.Block {
	var out paper.Pictures
	total, seen := 0, map[string]bool{}
	take := func(id record.ID, long int) {
		l := s.lines[id]
		if l == nil || l.private == nil {
			return
		}
		for _, q := range l.private.Papers {
			if q.Type != photo.JPEG || seen[q.Digest] || len(out.Items) == salePhotos {
				continue
			}
			seen[q.Digest] = true
			p, ok := s.thumbnail(q.Digest, long)
			if !ok || total+len(p.Data) > salePhotoBytes {
				continue
			}
			total += len(p.Data)
			out.Items = append(out.Items, paper.Picture{JPEG: p.Data, Width: p.Width, Height: p.Height, About: "photo " + q.Name, Under: says(q.Name+", kept "+sinceDay(l.done), id)})
		}
	}
	take(s.m.ID, machineLong)
	jobs := rules.BigJobsOf(s.st, s.m)
	for i := range jobs[:min(len(jobs), bigShown)] {
		for _, id := range jobs[i].Entries {
			take(id, jobLong)
		}
	}
	if len(out.Items) == 0 {
		if s.o.withoutNames || s.o.withoutCosts {
			return paper.Photo{Label: "room for a photo of the machine and of its serial plate: the seller holds back what photos the record may have"}
		}
		return paper.Photo{Label: "room for a photo of the machine and of its serial plate: the record holds none"}
	}
	return out
}

// thumbnail makes a small picture of a kept photo; not ok where it is not held, or none.
func (s *saleFile) thumbnail(digest string, long int) (*photo.Paper, bool) {
	id, err := ledger.ParseID(digest)
	if err != nil {
		return nil, false
	}
	data, err := s.whole.store.Paper(id)
	if err != nil || !bytes.HasPrefix(data, []byte("\xff\xd8\xff")) {
		return nil, false
	}
	p, err := photo.Small(data, long)
	return p, err == nil
}
