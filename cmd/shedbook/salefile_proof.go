package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/ledger"
	"shedbook/ledger/audit"
	"shedbook/rules/record"
)

// saleProof is the evidence of a sale file: written, and read back as a buyer reads it.
type saleProof struct {
	raw      []byte
	sum      string // SHA-256 of the file
	info     audit.EvidenceInfo
	ev       *audit.Evidence
	findings []audit.Finding
	sums     audit.Summary // of the evidence
}

// writeProof makes the evidence of a machine and reads it back.
func writeProof(log *ledger.Book, machine record.ID, o audit.EvidenceOptions) (*saleProof, error) {
	var out bytes.Buffer
	p := &saleProof{}
	info, err := audit.WriteEvidence(&out, log, machine, o)
	if err != nil {
		return nil, failed("no-evidence", "shedbook audit", "the evidence cannot be made: %v", err)
	}
	p.raw, p.info = out.Bytes(), info
	digest := sha256.Sum256(p.raw)
	p.sum = hex.EncodeToString(digest[:])
	if p.ev, err = audit.ReadEvidence(bytes.NewReader(p.raw)); err != nil {
		return nil, failed("no-evidence", "shedbook audit", "the evidence does not read back: %v", err)
	}
	return p, nil
}

// verify checks it as a buyer does.
func (p *saleProof) verify(now time.Time) {
	p.findings, p.sums = audit.ExamineEvidence(p.ev, audit.Options{Now: now})
}

// signatures is the one line on them, beside the condition.
func (s *saleFile) signatures() paper.Section {
	return paper.Section{ID: "signatures", Title: "Signatures", Blocks: []paper.Block{paper.Para{Text: paper.Say(s.signedLine())}, paper.Para{Text: paper.Say(s.stampLine() + ` How to check it all stands under "How to check this".`)}}}
}

// complete says in one line whether anything can be missing.
func (s *saleFile) complete() string {
	if !s.sound {
		return "The book does not verify: rely on nothing yet."
	}
	text := "Between the entries shown none written for this machine is missing: the signatures show it. "
	stamps := s.proof.sums.Stamps
	switch c := s.citing(); {
	case len(stamps) > 0:
		text += "For the end there is a stamp: who signed it, and what that is worth, stands under Signatures. "
	case c.cited > 0:
		text += "At the end no stamp shows it; devices of other people of the book cite " + c.share() + ". "
	default:
		text += "Whether the newest were left out nobody can tell: there is no stamp. "
	}
	return text + "Work that was never written down no record can show."
}

func (s *saleFile) signedLine() string {
	info := s.proof.info
	return fmt.Sprintf("%s about this machine, each signed when it was written, in a book of %s; the evidence file beside this page has all of them and the place of every other one.", capital(entryCount(info.Machine)), entryCount(info.Entries))
}

// stampLine says up to when somebody from outside vouches that nothing was left out.
func (s *saleFile) stampLine() string {
	stamps := s.proof.sums.Stamps
	if len(stamps) == 0 {
		c := s.citing()
		return strings.TrimSpace("No stamp (a signed statement of where every log of the book ends): nobody can tell whether the newest entries were left out. " + c.tailLine())
	}
	last := s.b.stampOne(stamps[len(stamps)-1])
	since := "nothing was recorded since"
	if last.After > 0 {
		since = entryCount(last.After) + " of the book recorded since"
	}
	text := fmt.Sprintf("Last stamp %s of %s, countersigned by %s; %s.", last.ID[:8], last.At[:10], signers(last), since)
	outside := false
	for _, x := range last.Countersigns {
		outside = outside || !x.OfTheBook
	}
	if !outside {
		text += " A stamp that only the seller has signed proves nothing against the seller."
	}
	return text
}

// check tells a buyer how to check the page for himself, what that proves and what it does not.
func (s *saleFile) check() paper.Section {
	file := filepath.Base(evidenceBeside(s.o.out))
	ev := s.proof.ev
	out := paper.Section{ID: "check", Title: "How to check this", Note: "You need the evidence file that came with this page: " + file + ". Nothing has to be sent anywhere, and you need no book of your own."}
	add := func(b ...paper.Block) { out.Blocks = append(out.Blocks, b...) }
	audits := "shedbook audit --evidence " + file
	add(paper.Steps{Items: []paper.Step{
		{Text: paper.Say("Is it the file that this page was made from? Your own computer works out its SHA-256, on Windows by the second of these. It must be " + s.proof.sum + "."), Lines: []string{"sha256sum " + file, "certutil -hashfile " + file + " SHA256"}},
		{Text: paper.Say("Does it hold? With shedbook of your own: it checks the seller's signatures and the place of every entry, and ends with \"whole\". The digest that it shows must be " + ev.Digest().String() + "; its first eight digits stand at the head of each printed sheet and on the windscreen card. It is of what the entries say: where the file is packed anew, the first number differs and this one stays."), Lines: []string{audits}},
		{Text: paper.Say("Does it say what this page says? This lists every entry about the machine, the struck and corrected ones too."), Lines: []string{audits + " --history"}},
		{Text: paper.Say("Would you rather trust ssh-keygen than shedbook? This writes every signature into files, with a script that ssh-keygen alone needs to check them; shedbook, yours or a neighbour's, has only to take the file apart. " + scriptTakes(s.proof.info.Entries)), Lines: []string{audits + " --stock apart && sh apart/check.sh"}},
		{Text: paper.Say("Have you a stamp of this book on paper, or a photo of one? Type it into a file: this tells whether anything up to that stamp was changed or left out."), Lines: []string{audits + " --against stamp.txt"}},
		{Text: paper.Say("Is it the book that others know? Somebody could have made all of it anew with keys of his own: compare the book's id, below, with one that others know: an exchange partner, a stamp, a countersigner.")},
	}})
	add(paper.Para{Text: paper.Say("Where to get shedbook: not from the seller. It is a program that is built from its source, with Go, by one line in its folder: go build ./cmd/shedbook. Take the source from a place that you trust, or let somebody run it for you who keeps a book of his own. No address stands here: one in a seller's page could lead anywhere. Without it: the file is lines of text, packed; gzip -dc " + file + " shows them.")})
	facts := []paper.Fact{
		{Name: "book", Values: []paper.Text{paper.Say(ev.Book.ID().String())}},
		{Name: "machine", Values: []paper.Text{paper.Say(ev.Machine.String())}},
		{Name: "evidence", Values: []paper.Text{paper.Say(fmt.Sprintf("%s about the machine of %s in all", entryCount(s.proof.info.Machine), entryCount(s.proof.info.Entries)))}},
	}
	if n := s.proof.info.HeldBack; n > 0 {
		facts = append(facts, paper.Fact{Name: "held back", Values: []paper.Text{paper.Say("the private part (names, words, money) of " + entryCount(n))}})
	} else {
		facts = append(facts, paper.Fact{Name: "held back", Values: []paper.Text{paper.Say("nothing: every entry about the machine stands in it whole")}})
	}
	add(paper.Facts{Items: facts}, paper.Para{Text: paper.Say(s.stampLine())})
	lines := func(all []string) (out []paper.Text) {
		for _, x := range all {
			out = append(out, paper.Say(x))
		}
		return out
	}
	add(paper.Notice{Title: "What that proves", Lines: lines([]string{
		"that every entry in the file stands as it was signed, by the device that it names, in its place in that device's log",
		"that between the entries shown no other one written for this machine was left out",
	})})
	add(paper.Notice{Title: "What no signature proves", Lines: lines(ev.Unproved())})
	add(paper.Notice{Title: "What you see of the rest of the book", Lines: lines(ev.Visible())})
	if len(s.proof.findings) > 0 {
		var rows []paper.Row
		for _, f := range s.b.findingsJSON(s.proof.findings) {
			rows = append(rows, paper.Row{Cells: []paper.Text{{Words: f.Severity, Mark: paper.Mark{}}, paper.Say(f.Message)}})
			if len(rows) == 40 {
				break
			}
		}
		add(paper.Table{Caption: "What the check says of this evidence today", Columns: []paper.Column{{Title: "weight", Narrow: true}, {Title: "finding"}}, Rows: rows})
	}
	return out
}

// scriptTakes says how long the script of stock tools takes: it starts some twenty small programs an entry.
func scriptTakes(entries int) string {
	if entries < 1000 {
		return "The script takes less than a minute."
	}
	return fmt.Sprintf("The script takes about a minute for each thousand entries on a slow computer: %s here.", countWords((entries+999)/1000, "minute"))
}
