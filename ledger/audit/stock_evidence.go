package audit

import (
	"crypto/ed25519"
	"fmt"
	"strings"

	"shedbook/ledger"
)

// evidenceScript repeats with stock tools what evidence proves. Most heads come without a signature: one that a later head of its log names by its digest is
// held by that one's. A head without its body is another machine's, which its tag shows: it is not the one that this machine's key gives at that place.
const evidenceScript = `#!/bin/sh
# Needs OpenSSH 8.2 or newer, base64, and sha256sum or shasum. The signed bytes of an entry are its .head, which holds the digest of its .body and of the entry before.
cd "$(dirname "$0")" && n=0 s=0 m=0 last= || exit 2; command -v sha256sum >/dev/null || sha256sum() { shasum -a 256; }
bad() { echo "does not hold: $1: $2"; exit 1; }
sum() { sha256sum | cut -c1-64; }
bytes() { o=; for x in $(echo "$1" | sed 's/../& /g'); do o="$o\\$(printf %03o "0x$x")"; done; printf "$o"; }
cited=" $(find log -name '*.head' -exec sed -n 's/.*"prev":"\([0-9a-f]*\)".*/ \1 /p' {} + | tr '\n' ' ') "
for h in log/*/*.head; do e=${h%.head}; id=${e##*/}; w=${e%/*}; w=${w##*/}; head=$(cat "$h")
	[ "$(sum <"$h")" = "$id" ] || bad "$h" "it is not the entry it is named after"
	case $head in *"\"writer\":\"$w\""*) ;; *) bad "$h" "it is of another log" ;; esac
	if [ -f "$e.sig" ]; then s=$((s + 1)); ssh-keygen -q -Y verify -f allowed_signers -I "$w" -n ` + ledger.EntryNamespace + ` -s "$e.sig" <"$h" || bad "$h" "its signature"
	else case $cited in *" $id "*) ;; *) bad "$h" "it has no signature, and no later entry holds it" ;; esac; fi
	p=$(echo "$head" | sed -n 's/.*"prev":"\([0-9a-f]*\)".*/\1/p'); [ -z "$p" ] || [ -f "log/$w/$p.head" ] || bad "$h" "the entry before it is missing"
	for c in $(echo "$head" | tr '{' '\n' | sed -n 's/^"id":"\([0-9a-f]*\)","seq":[0-9]*,"writer":"\([a-z2-7]*\)".*/\2\/\1/p'); do [ -f "log/$c.head" ] || bad "$h" "it cites an entry that is missing: $c"; done
	if [ -f "$e.body" ]; then case $head in *"\"body\":\"$(sum <"$e.body")\""*) ;; *) bad "$h" "its body is not the one that was signed" ;; esac; fi
	if [ -f "$e.private" ]; then grep -q "\"private\":\"$(sum <"$e.private")\"" "$e.body" || bad "$h" "its private part is not the one that was signed"; fi
	t=$(echo "$head" | sed -n 's/.*"tag":"\([0-9a-f]*\)".*/\1/p')
	if [ -n "$t" ]; then
		[ "$w" = "$last" ] || { last=$w; k=$(sed -n "s/^$w .* //p" allowed_signers | base64 -d | tail -c 32 | sha256sum | cut -c1-40); }
		q=$(echo "$head" | sed -n 's/.*"seq":\([0-9]*\),"tag".*/\1/p')
		if [ "$({ printf 'shedbook-tag-v1\n'; cat machine.key; bytes "$k$(printf %016x "$q")"; } | sha256sum | cut -c1-20)" = "$t" ]
		then m=$((m + 1)); [ -f "$e.body" ] || bad "$h" "it is about the machine and not shown"
		else [ ! -f "$e.body" ] || bad "$h" "it is shown and not about the machine"; fi
	else [ -f "$e.body" ] || bad "$h" "it is not work and not shown"; fi
n=$((n + 1)); [ $((n % 500)) != 0 ] || echo "$n entries looked at" >&2; done; [ "$m" -gt 0 ] || bad machine.key "no entry is about the machine"
echo "$n entries, $m about the machine, all of these shown: $s signatures hold, and the entries without one are held by a later one of their log"
`

const evidenceReadme = `What is in this folder: evidence about one machine from the book %q, taken apart so that stock tools can check it. Nothing here needs shedbook.

  check.sh            run it: sh check.sh. It takes about a minute for each thousand entries on a slow computer, and tells every 500 how far it is
  allowed_signers     one signing key a log, as ssh-keygen reads them
  machine.key         32 bytes that find the entries of this machine: an entry of it has in its head as "tag" the first 20 digits of the SHA-256
                      of "shedbook-tag-v1", a line feed, this key, the first 20 bytes of the SHA-256 of the log's public key, and its seq in 8 bytes
  log/LOG/ID.head     what was signed; ID is the SHA-256 of these bytes, and the book's id is that of its first entry:
                      %s
  log/LOG/ID.body     what was recorded, of this machine and of the book as a whole; its SHA-256 stands in the head as "body"
  log/LOG/ID.private  names, costs and remarks, where they are shown; its SHA-256 stands in the body as "private"
  log/LOG/ID.sig      the signature over the head. An entry without one is named in the head of a later one ("prev") that has one

The machine was added by the entry %s.

The script shows that nothing here was changed since it was signed, that no entry is missing before another of the same log or where another log cites it, and
that every entry with the machine's tag is shown. It cannot show that the end of a log is here (a stamp that somebody else holds can), who was behind a key, who was
admitted to the book, or that what was written was true. Somebody could have made all of it anew with keys of his own: compare the book's id with one that others know:
an exchange partner, a stamp, a countersigner.
`

// StockEvidence takes evidence apart for stock tools, as Stock does a book: put is called with the slash path and content of each file of a folder, in a fixed
// order. With it ssh-keygen, sha256sum and a script repeat the check of every signature, body, link and tag; the error is the first of put.
func StockEvidence(ev *Evidence, put func(name string, content []byte) error) error {
	for _, f := range []struct {
		name    string
		content []byte
	}{
		{"README.txt", fmt.Appendf(nil, evidenceReadme, ev.Book.Title(), ev.Book.ID(), ev.Machine)},
		{"check.sh", []byte(evidenceScript)},
		{"allowed_signers", allowedSigners(ev.Book)},
		{"machine.key", ev.Key[:]},
	} {
		if err := put(f.name, f.content); err != nil {
			return err
		}
	}
	return putEntries(ev.Book, put)
}

// allowedSigners has one line a log, as ssh-keygen reads it.
func allowedSigners(book *ledger.Book) []byte {
	var signers strings.Builder
	for _, w := range book.Writers() {
		key, ok := book.Key(w)
		if !ok {
			continue // no entry carries it; Check says so
		}
		fmt.Fprintf(&signers, "%s namespaces=%q %s\n", w, ledger.EntryNamespace, strings.TrimSpace(string(ledger.FormatPublicKey(key, ""))))
	}
	return []byte(signers.String())
}

// armored is e's signature, nil for a head that a later one holds.
func armored(e *ledger.Entry, key ed25519.PublicKey) []byte {
	if !hasSignature(e) {
		return nil
	}
	return e.Armor(key)
}

// hasSignature reports whether e's own signature is known.
func hasSignature(e *ledger.Entry) bool {
	return [ed25519.SignatureSize]byte(e.Signature()) != [ed25519.SignatureSize]byte{}
}
