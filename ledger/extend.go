package ledger

import (
	"fmt"
	"maps"
	"slices"
)

// End returns how many lines of a stored log are held, and the last of them. It
// is for a book of whole logs, such as one made from an image.
func (b *Book) End(log string) (lines int, last *Entry) {
	end := b.ends()[log]
	if end == nil {
		return 0, nil
	}
	return end.place.line, end.e
}

// ends are the last held entries of the stored logs.
func (b *Book) ends() map[string]*node {
	out := map[string]*node{}
	for _, n := range b.order {
		if end := out[n.place.log]; end == nil || end.place.line < n.place.line {
			out[n.place.log] = n
		}
	}
	return out
}

// Extend takes in what was added to the logs of a whole book since it was
// loaded: the Lines of each are those after the ones held (see [Book.End]), in
// any order of logs. Every line is verified as [Load] does it, and the result is
// that of Load over the whole logs.
//
// It fails where a line does not verify, does not continue its log, or cites
// what is not here, and b must not be used any more then: the logs are to be
// loaded whole, and their findings say what is wrong.
func (b *Book) Extend(logs []Log) error {
	all, flat := spread(logs)
	if len(flat) == 0 {
		return nil
	}
	verifyLines(logs, all, flat, b.keys)
	ends := b.ends()
	entries := make([]*Entry, 0, len(flat))
	for i, l := range logs {
		var prev Entry
		line := 0
		if end := ends[l.Name]; end != nil {
			prev, line = *end.e, end.place.line
		}
		for j := range all[i] {
			x := &all[i][j]
			switch {
			case x.err != nil:
				return fmt.Errorf("log %s, line %d: %w", l.Name, line+j+1, x.err)
			case x.e.head.Prev != prev.id || line+j > 0 && x.e.head.Writer != prev.head.Writer:
				return fmt.Errorf("log %s, line %d: it does not continue the log", l.Name, line+j+1)
			}
			prev = *x.e
			entries = append(entries, x.e)
			if x.checked {
				b.relied++
			}
		}
	}
	slices.SortFunc(entries, (*Entry).Compare)
	for _, e := range entries {
		if b.nodes.get(e.id) != nil {
			return fmt.Errorf("entry %s stands in two logs", e.id.Short())
		}
		if err := b.Append(e); err != nil {
			return err
		}
	}
	return nil
}

// spread lists the lines of logs, log by log and in one row.
func spread(logs []Log) (all [][]line, flat []*line) {
	all = make([][]line, len(logs))
	for i, l := range logs {
		all[i] = make([]line, len(l.Lines))
		for j, raw := range l.Lines {
			all[i][j].raw = raw
			flat = append(flat, &all[i][j])
		}
	}
	return all, flat
}

// verifyLines reads every line and checks its signature, on all cores, by the
// keys known and those that the lines carry, which it adds.
func verifyLines(logs []Log, all [][]line, flat []*line, keys map[Writer]PublicKey) {
	parallel(flat, func(x *line) { x.e, x.err = parseLine(x.raw, false) })
	maps.Copy(keys, collectKeys(flat))
	for i := range logs {
		markChecked(all[i], logs[i].Checked)
	}
	parallel(flat, func(x *line) {
		if x.err != nil || x.checked {
			return
		}
		if pub, ok := keys[x.e.head.Writer]; ok {
			x.err = x.e.checkSignature(pub.Ed25519())
		} else {
			x.err = errNoKey
		}
	})
}
