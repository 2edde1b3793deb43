// Package ledger is the signed log of a book: canonical bytes, ids, keys,
// signatures, the chain of each log, the order of all of them, and who counts.
// FORMAT.md beside this file is its specification; the package and that page
// say the same or one of them is wrong.
//
// # What it promises
//
//   - An *Entry exists only after Verify or Sign made it: its bytes are
//     canonical, its digests are right and its signature holds. Nothing else in
//     the program can make one, so rules need no second look at a signature.
//     Of many entries made at once by a Signing, this holds from its Wait on.
//   - Load gives the same entries, findings and judgement for the same set of
//     logs, in whatever order they came, on every machine.
//   - Nothing that is wrong is passed over: a line that does not verify, a gap,
//     a fork, a stop without effect, each is a Finding that names log and line.
//   - An entry with anything missing from its past is kept and counts for
//     nothing until the rest comes (see Status).
//
// # What it does not do
//
// It reads no file, opens no connection, asks no clock and holds no random
// source: callers hand these in. It does not know what work entries mean
// (package rules/record does) and decodes only the control entries, which say
// who takes part. It cannot know whether a measurement was true, a clock right,
// or whether an entry that nobody else ever saw still exists.
//
// Slices handed out by an Entry are views of its line and must not be changed;
// Verify and Load keep the lines they are given. A Book may be read by several
// goroutines, but not while Append runs.
package ledger
