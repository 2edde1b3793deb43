package gitstore

// readmeName is the file at the top of every log's tree.
const readmeName = "README.md"

// readmeV1 is part of format version 1: every byte of it decides the id of
// every commit. It is never changed; a later format has its own.
const readmeV1 = `# A shedbook log

This folder is part of a shedbook: the service record of a family's or a
business's machinery. It holds the log of one device (a computer or a phone):
everything that was recorded on it, in the order it was recorded.

- ` + "`log/0000/00.jsonl`" + ` holds entries 1 to 100, ` + "`log/0000/01.jsonl`" + ` the next hundred,
  and so on; ` + "`log/0001/`" + ` begins with entry 10,001.
- One line is one entry: text in JSON, signed by the device's own key.
  ` + "`head`" + ` says which entry it is, which came before it, and when it was recorded;
  ` + "`body`" + ` says what was done, to which machine; ` + "`private`" + ` holds what may be kept
  back when the book is shown to others; ` + "`sig`" + ` is the signature over the head.
- An entry is never edited or removed, here or by hand. What was written wrong
  is put right by a further entry. Any change to a line is found when the book
  is next read, and the line no longer counts.

The logs of the other devices of the same book lie beside this one, each on its
own. The program shedbook reads them together and keeps them in step.

What the manual of a machine's maker says, the rules in force where you work,
and the advice of qualified people stand above anything recorded here.

This is format version 1.
`
