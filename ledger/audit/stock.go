package audit

import (
	"crypto/ed25519"
	"fmt"

	"shedbook/ledger"
)

// stockScript repeats what matters of an audit with what every computer has: that each signature holds, each body is the one that was signed, each file is
// the entry it is named after, and each entry follows one that is here. It prints what does not hold and ends with 1.
const stockScript = `#!/bin/sh
# Needs OpenSSH 8.2 or newer, and sha256sum or shasum. The signed bytes of an entry are its .head, which holds the digest of its .body and of the entry before.
cd "$(dirname "$0")" && n=0 || exit 2; command -v sha256sum >/dev/null || sha256sum() { shasum -a 256; }
for h in log/*/*.head; do e=${h%.head}; w=$(basename "$(dirname "$h")"); p=$(sed -n 's/.*"prev":"\([0-9a-f]*\)".*/\1/p' "$h")
	ssh-keygen -q -Y verify -f allowed_signers -I "$w" -n ` + ledger.EntryNamespace + ` -s "$e.sig" <"$h" && grep -q "\"body\":\"$(sha256sum <"$e.body" | cut -c1-64)\"" "$h" && [ "$(sha256sum <"$h" | cut -c1-64)" = "$(basename "$e")" ] && { [ -z "$p" ] || [ -f "log/$w/$p.head" ]; } || { echo "does not hold: $h"; exit 1; }
n=$((n + 1)); [ $((n % 500)) != 0 ] || echo "$n entries looked at" >&2; done; echo "$n entries: every signature holds, every body is as it was signed, every entry follows one that is here"
`

const stockReadme = `What is in this folder: every entry of the book %q, taken apart so that stock tools can check it. Nothing here needs shedbook.

  check.sh            run it: sh check.sh. It takes about a minute for each thousand entries on a slow computer, and tells every 500 how far it is
  allowed_signers     one signing key a log, as ssh-keygen reads them
  log/LOG/ID.head     what was signed; ID is the SHA-256 of these bytes, and the book's id is that of its first entry:
                      %s
  log/LOG/ID.body     what was recorded; its SHA-256 stands in the head as "body"
  log/LOG/ID.private  names, costs and remarks, where there are any; its SHA-256 stands in the body as "private"
  log/LOG/ID.sig      the signature over the head

The script shows that nothing here was changed since it was signed and that no entry is missing before another of the same log. It cannot show that the end
of a log is here (a stamp that somebody else holds can), who was behind a key, or that what was written was true.
`

// Stock takes the book apart for stock tools: put is called with the slash path and content of each file of a folder, in a fixed order. With it ssh-keygen,
// sha256sum and a script of a few lines repeat the check of every signature, body and link. It writes entries of every log that is held, counted or not; the
// error is the first of put.
func Stock(book *ledger.Book, put func(name string, content []byte) error) error {
	for _, f := range []struct{ name, text string }{
		{"README.txt", fmt.Sprintf(stockReadme, book.Title(), book.ID())},
		{"check.sh", stockScript},
		{"allowed_signers", string(allowedSigners(book))},
	} {
		if err := put(f.name, []byte(f.text)); err != nil {
			return err
		}
	}
	return putEntries(book, put)
}

// putEntries writes what is shown of each entry.
func putEntries(book *ledger.Book, put func(string, []byte) error) error {
	for _, e := range book.Entries() {
		key, ok := book.Key(e.Writer())
		if !ok {
			continue
		}
		if err := putEntry(e, key, put); err != nil {
			return err
		}
	}
	return nil
}

func putEntry(e *ledger.Entry, key ed25519.PublicKey, put func(string, []byte) error) error {
	name := fmt.Sprintf("log/%s/%s", e.Writer(), e.ID())
	for _, f := range []struct {
		ext     string
		content []byte
	}{{".head", e.SignedBytes()}, {".body", e.Body()}, {".private", e.PrivatePart()}, {".sig", armored(e, key)}} {
		if f.content == nil {
			continue
		}
		if err := put(name+f.ext, f.content); err != nil {
			return err
		}
	}
	return nil
}
