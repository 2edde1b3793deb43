package gitstore

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
)

// damageCases are what can happen to a book's folder: what is done to it, and
// then, line by line, what [Open] says or puts right; what is said of the folder
// as it lies; what Mend does; what is said after that; and how many logs an
// exchange with the stick then brings back.
var damageCases = []struct {
	name string
	do   func(y *yard)
	want string
}{
	{"nothing is wrong", func(*yard) {}, `
`},
	{"a piece of a pending entry is missing", func(y *yard) { y.remove(y.s.loosePath(y.file(y.founder.name, "log/0000/01.jsonl"))) }, `
said: warning parts-missing, FOUNDER: parts of this log's files are missing; all of its 102 entries are here; mend
did: FOUNDER: wrote the missing parts of its files anew
`},
	{"a piece is missing, and pending/ too", func(y *yard) {
		y.remove(y.s.loosePath(y.file(y.founder.name, "log/0000/01.jsonl")), y.s.path(pendingDir, pendingFile))
	}, `
open: fails
said: error entries-lost, FOUNDER: entry 102 that this device had seen is not in this folder any more (log/0000/01.jsonl is missing); mend; /stick had 102
did: FOUNDER: wrote this log anew from the 101 entries that are held
did: FOUNDER: set where this log ends: entry 101
did: FOUNDER: noted that entry 102 is not in this log, until an exchange brings it back
left: error entries-lost, FOUNDER: entry 102 that this device had seen is not in this folder any more; /stick had 102
came: 1
`},
	{"a piece is damaged, and pending/ is lost", func(y *yard) {
		y.write(y.s.loosePath(y.file(y.founder.name, "log/0000/01.jsonl")), []byte("x"))
		y.remove(y.s.path(pendingDir, pendingFile))
	}, `
open: fails
said: error entries-lost, FOUNDER: entry 102 that this device had seen is not in this folder any more (log/0000/01.jsonl cannot be read); mend; /stick had 102
did: FOUNDER: wrote this log anew from the 101 entries that are held
did: FOUNDER: set where this log ends: entry 101
did: FOUNDER: noted that entry 102 is not in this log, until an exchange brings it back
did: set the damaged file git/objects/72/c6942f75e9fe11d934232c1f38887b09ca259d aside
left: error entries-lost, FOUNDER: entry 102 that this device had seen is not in this folder any more; /stick had 102
came: 1
`},
	{"a full file is missing in the packed file", func(y *yard) { y.without(y.file(y.founder.name, "log/0000/00.jsonl")) }, `
open: fails
said: error log-unreadable, FOUNDER: this log cannot be read in its place (log/0000/00.jsonl is missing); all of its 102 entries are held elsewhere in the folder; mend
did: FOUNDER: wrote this log anew from the 102 entries that are held
`},
	{"a full file is missing, and cache/ too", func(y *yard) {
		y.without(y.file(y.founder.name, "log/0000/00.jsonl"))
		y.remove(y.s.path(cacheDir))
	}, `
open: fails
said: note cache-missing: the folder cache/ is missing; it only makes things faster; mend
said: error entries-lost, FOUNDER: entry 100 is not in this folder any more; 2 behind it are, and wait (log/0000/00.jsonl is missing); mend; /stick had 102
did: FOUNDER: kept entries 101-102 behind the gap as kept/1/entries/FOUNDER-from-101.jsonl, to be put back when those before are here
did: set the file pending/runs aside: what it keeps continues what is not held
did: FOUNDER: set where this log ends: entry 99
did: FOUNDER: noted that entries 100-102 are not in this log, until an exchange brings them back
did: made the folder cache/ again
left: error entries-lost, FOUNDER: entry 100 is not in this folder any more; 2 behind it are, and wait; /stick had 102
came: 1
`},
	{"the end of a log is missing in the packed file", func(y *yard) { y.without(y.file(y.other.name, "log/0000/00.jsonl")) }, `
open: fails
said: error log-unreadable, CREEK: this log cannot be read in its place (log/0000/00.jsonl is missing); all of its 6 entries are held elsewhere in the folder; mend
did: CREEK: wrote this log anew from the 6 entries that are held
`},
	{"a folder is missing in the packed file", func(y *yard) { y.without(y.file(y.other.name, "log")) }, `
open: fails
said: error log-unreadable, CREEK: this log cannot be read in its place (log is missing); all of its 6 entries are held elsewhere in the folder; mend
did: CREEK: wrote this log anew from the 6 entries that are held
`},
	{"an earlier state is missing in the packed file", func(y *yard) { y.without(y.back(y.other.name, 2)) }, `
said: warning parts-missing, CREEK: parts of this log's files are missing; all of its 6 entries are here; mend
did: CREEK: wrote the missing parts of its files anew
`},
	{"the last state is missing in the packed file", func(y *yard) { y.without(y.back(y.other.name, 0)) }, `
open: fails
said: error log-unreadable, CREEK: this log cannot be read in its place (the last write is missing); all of its 6 entries are held elsewhere in the folder; mend
did: CREEK: wrote this log anew from the 6 entries that are held
`},
	{"a packed file is cut short", func(y *yard) { p := y.pack() + ".pack"; d := y.read(p); y.write(p, d[:len(d)-len(d)/3]) }, `
open: fails
said: error pack-damaged: the packed file git/objects/pack/pack-N*.pack is cut short or damaged; mend
did: CREEK: wrote this log anew from the 6 entries that are held
did: FOUNDER: wrote this log anew from the 102 entries that are held
did: FOUNDER: set where this log ends: entry 102
did: set the damaged packed file git/objects/pack/pack-N*.pack aside
`},
	{"a packed file is cut short and has no list", func(y *yard) {
		p := y.pack()
		d := y.read(p + ".pack")
		y.write(p+".pack", d[:len(d)-len(d)/3])
		y.remove(p + ".idx")
	}, `
open: fails
said: error pack-damaged: the packed file git/objects/pack/pack-N*.pack is cut short or damaged; mend
did: CREEK: wrote this log anew from the 6 entries that are held
did: FOUNDER: wrote this log anew from the 102 entries that are held
did: FOUNDER: set where this log ends: entry 102
did: set the damaged packed file git/objects/pack/pack-N*.pack aside
`},
	{"a packed file is gone", func(y *yard) { p := y.pack(); y.remove(p+".pack", p+".idx") }, `
open: fails
said: error log-unreadable, CREEK: this log cannot be read in its place (the last write is missing); all of its 6 entries are held elsewhere in the folder; mend
said: error log-unreadable, FOUNDER: this log cannot be read in its place (the last write is missing); all of its 102 entries are held elsewhere in the folder; mend
did: CREEK: wrote this log anew from the 6 entries that are held
did: FOUNDER: wrote this log anew from the 102 entries that are held
did: CREEK: set where this log ends: entry 6
did: FOUNDER: set where this log ends: entry 102
`},
	{"a packed file and cache/ are gone", func(y *yard) { p := y.pack(); y.remove(p+".pack", p+".idx", y.s.path(cacheDir)) }, `
open: fails
said: note cache-missing: the folder cache/ is missing; it only makes things faster; mend
said: error entries-lost, CREEK: entries 1-6 that this device had seen are not in this folder any more (the last write is missing); mend; /stick had 6
said: error entries-lost, FOUNDER: entries 1-102 that this device had seen are not in this folder any more (the last write is missing); mend; /stick had 102
did: FOUNDER: kept 2 entries as kept/1/entries/FOUNDER-not-checked.jsonl: the key that they are checked with is not held
did: set the file pending/runs aside: what it keeps continues what is not held
did: CREEK: set aside the note of where this log ends, as none of its entries is held
did: FOUNDER: set aside the note of where this log ends, as none of its entries is held
did: CREEK: noted that entries 1-6 are not in this log, until an exchange brings them back
did: FOUNDER: noted that entries 1-102 are not in this log, until an exchange brings them back
did: made the folder cache/ again
left: error entries-lost, CREEK: entries 1-6 that this device had seen are not in this folder any more; /stick had 6
left: error entries-lost, FOUNDER: entries 1-102 that this device had seen are not in this folder any more; /stick had 102
came: 2
`},
	{"the list of a packed file is damaged", func(y *yard) { p := y.pack() + ".idx"; d := y.read(p); d[len(d)/2] ^= 1; y.write(p, d) }, `
open: fails
said: error pack-list-damaged: the list of what is in a packed file, git/objects/pack/pack-N*.idx, is damaged; mend
did: made the list of what is in the packed file git/objects/pack/pack-N*.pack anew
`},
	{"the list of a packed file is missing", func(y *yard) { y.remove(y.pack() + ".idx") }, `
open: fails
said: error pack-list-damaged: the list of what is in a packed file, git/objects/pack/pack-N*.idx, is missing; mend
did: made the list of what is in the packed file git/objects/pack/pack-N*.pack anew
`},
	{"a byte is changed in a log's end", func(y *yard) { y.flat(); y.flip(y.file(y.other.name, "log/0000/00.jsonl")) }, `
open: fails
said: error pack-damaged: the packed file git/objects/pack/pack-N*.pack is cut short or damaged; mend
did: CREEK: wrote this log anew from the 6 entries that are held
did: FOUNDER: wrote this log anew from the 102 entries that are held
did: set the damaged packed file git/objects/pack/pack-N*.pack aside
`},
	{"a byte is changed in a full file", func(y *yard) { y.flat(); y.flip(y.file(y.founder.name, "log/0000/00.jsonl")) }, `
open: fails
said: error pack-damaged: the packed file git/objects/pack/pack-N*.pack is cut short or damaged; mend
did: CREEK: wrote this log anew from the 6 entries that are held
did: FOUNDER: wrote this log anew from the 102 entries that are held
did: set the damaged packed file git/objects/pack/pack-N*.pack aside
`},
	{"a reference is half written", func(y *yard) { setReference(y.t, y.s, y.other.name, y.refs[y.other.name][:17]) }, `
open: the log of CREEK had been set back or replaced by another program; it was restored (6 entries)
`},
	{"a reference is half written and seen/ is gone", func(y *yard) {
		setReference(y.t, y.s, y.other.name, y.refs[y.other.name][:17])
		y.remove(y.s.path(seenDir))
	}, `
open: fails
said: error seen-missing: what this device had seen is forgotten (the folder seen/ is missing or empty): whether entries were lost before today cannot be told from it; mend
said: error log-end-damaged, CREEK: where this log ends is not said, or damaged; all of its 6 entries are held; mend
did: CREEK: set where this log ends: entry 6
did: noted again up to where 2 logs were seen and verified
`},
	{"a reference names what is gone", func(y *yard) { setReference(y.t, y.s, y.other.name, strings.Repeat("ab", 20)+"\n") }, `
open: the log of CREEK had been set back or replaced by another program; it was restored (6 entries)
`},
	{"a reference names what is gone and seen/ is gone", func(y *yard) {
		setReference(y.t, y.s, y.other.name, strings.Repeat("ab", 20)+"\n")
		y.remove(y.s.path(seenDir))
	}, `
open: fails
said: error seen-missing: what this device had seen is forgotten (the folder seen/ is missing or empty): whether entries were lost before today cannot be told from it; mend
said: error log-unreadable, CREEK: this log cannot be read in its place (the last write is missing); all of its 6 entries are held elsewhere in the folder; mend
did: CREEK: set where this log ends: entry 6
did: noted again up to where 2 logs were seen and verified
`},
	{"a reference points to another", func(y *yard) { setReference(y.t, y.s, y.other.name, "ref: "+refPrefix+y.founder.name+"\n") }, `
open: fails
said: error log-end-damaged, CREEK: where this log ends is not said, or damaged; all of its 6 entries are held; mend
did: CREEK: set where this log ends: entry 6
`},
	{"packed-refs is damaged", func(y *yard) {
		y.git("pack-refs", "--all")
		p := y.s.git("packed-refs")
		y.write(p, bytes.Replace(y.read(p), []byte(y.refs[y.founder.name][:3]), []byte("xyz"), 1))
	}, `
open: fails
said: error log-end-damaged: the file git/packed-refs, which says where logs end, is damaged in line 3; mend
did: wrote git/packed-refs anew without its damaged lines
`},
	{"packed-refs is cut short", func(y *yard) {
		y.git("pack-refs", "--all")
		p := y.s.git("packed-refs")
		d := y.read(p)
		y.write(p, d[:len(d)-30])
	}, `
open: fails
said: error log-end-damaged: the file git/packed-refs, which says where logs end, is damaged in line 3; mend
did: wrote git/packed-refs anew without its damaged lines
`},
	{"a branch of someone's own", func(y *yard) { y.git("branch", "log/backup", "log/"+y.other.name) }, `
open: fails
said: error stray-log: "backup" stands among the logs and is none; mend
did: set aside "backup", which stood among the logs
`},
	{"pending/ is lost", func(y *yard) { y.remove(y.s.path(pendingDir)) }, `
did: made the folder pending/ again
`},
	{"pending/ is damaged", func(y *yard) { p := y.s.path(pendingDir, pendingFile); d := y.read(p); d[60] ^= 1; y.write(p, d) }, `
open: fails
said: error pending-damaged: the file pending/runs, which keeps what was recorded last, is damaged; 1 of its records is whole; mend
did: set the damaged file pending/runs aside
`},
	{"pending/ is damaged at its end", func(y *yard) { p := y.s.path(pendingDir, pendingFile); d := y.read(p); d[len(d)-2] ^= 1; y.write(p, d) }, `
open: the last write to this book was interrupted; what it had not finished recording was removed
`},
	{"pending/ is damaged and the pieces are gone", func(y *yard) {
		p := y.s.path(pendingDir, pendingFile)
		d := y.read(p)
		d[60] ^= 1
		y.write(p, d)
		pieces, err := filepath.Glob(y.s.git("objects", "??"))
		if err != nil {
			y.t.Fatal(err)
		}
		y.remove(pieces...)
	}, `
open: fails
said: error pending-damaged: the file pending/runs, which keeps what was recorded last, is damaged; 1 of its records is whole; mend
said: error entries-lost, FOUNDER: entry 101 is not in this folder any more; 1 behind it is, and waits (the last write is missing); mend; /stick had 102
did: FOUNDER: kept entry 102 behind the gap as kept/1/entries/FOUNDER-from-102.jsonl, to be put back when those before are here
did: set the damaged file pending/runs aside
did: FOUNDER: set where this log ends: entry 100
did: FOUNDER: noted that entries 101-102 are not in this log, until an exchange brings them back
left: error entries-lost, FOUNDER: entry 101 is not in this folder any more; 1 behind it is, and waits; /stick had 102
came: 1
`},
	{"cache/ is gone", func(y *yard) { y.remove(y.s.path(cacheDir)) }, `
said: note cache-missing: the folder cache/ is missing; it only makes things faster; mend
did: made the folder cache/ again
`},
	{"seen/ is gone", func(y *yard) { y.remove(y.s.path(seenDir)) }, `
open: fails
said: error seen-missing: what this device had seen is forgotten (the folder seen/ is missing or empty): whether entries were lost before today cannot be told from it; mend
did: noted again up to where 2 logs were seen and verified
`},
	{"a note in seen/ is damaged", func(y *yard) { y.write(y.s.path(seenDir, y.other.name+".toml"), []byte("seq = ")) }, `
open: fails
said: error seen-missing: what this device had seen of a log cannot be read (seen/CREEK.toml): whether entries were lost before today cannot be told from it; mend
did: noted again up to where 1 log was seen and verified
`},
	{"a file added with stock git", func(y *yard) {
		y.foreign(y.other.name, "notes.txt", func([]byte) []byte { return []byte("mine") })
	}, `
open: fails
said: error foreign-write, CREEK: another program wrote into this log (notes.txt: it does not belong in a log); all of its 6 entries are held and whole; mend
did: CREEK: set aside what another program had written into it: it stays held as git/refs/shedbook/found/N
did: CREEK: set where this log ends: entry 6
`},
	{"a line changed with stock git", func(y *yard) {
		y.foreign(y.other.name, "log/0000/00.jsonl", func(d []byte) []byte { return bytes.Replace(d, []byte("trial"), []byte("trail"), 1) })
	}, `
did: CREEK: kept 1 line that does not belong in it as kept/1/entries/CREEK-not-sound.jsonl
did: CREEK: set aside what another program had written into it: it stays held as git/refs/shedbook/found/N
did: CREEK: set where this log ends: entry 6
`},
	{"a log taken back by hand", func(y *yard) {
		setReference(y.t, y.s, y.other.name, y.back(y.other.name, 3).String()+"\n")
	}, `
open: the log of CREEK had been set back or replaced by another program; it was restored (6 entries)
`},
	{"git gc --prune=now", func(y *yard) { y.git("gc", "--prune=now", "-q") }, `
`},
	{"git repack -adf", func(y *yard) { y.git("repack", "-adf", "-q") }, `
`},
	{"git pack-refs --all", func(y *yard) { y.git("pack-refs", "--all") }, `
`},
	{"a copy that stopped half way", func(y *yard) {
		y.remove(y.s.path(pendingDir), y.s.path(cacheDir), y.s.path(seenDir, y.other.name+".toml"), y.pack()+".pack")
	}, `
open: fails
said: note cache-missing: the folder cache/ is missing; it only makes things faster; mend
said: error entries-lost, CREEK: entries 1-6 that this device had seen are not in this folder any more (the last write is missing); mend; /stick had 6
said: error entries-lost, FOUNDER: entries 1-102 that this device had seen are not in this folder any more (log/0000/00.jsonl is missing); mend; /stick had 102
did: FOUNDER: kept 2 entries as kept/1/entries/FOUNDER-not-checked.jsonl: the key that they are checked with is not held
did: CREEK: set aside the note of where this log ends, as none of its entries is held
did: FOUNDER: set aside the note of where this log ends, as none of its entries is held
did: CREEK: noted that entries 1-6 are not in this log, until an exchange brings them back
did: FOUNDER: noted that entries 1-102 are not in this log, until an exchange brings them back
did: made the folder pending/ again
did: made the folder cache/ again
left: error entries-lost, CREEK: entries 1-6 that this device had seen are not in this folder any more; /stick had 6
left: error entries-lost, FOUNDER: entries 1-102 that this device had seen are not in this folder any more; /stick had 102
came: 2
`},
	{"it borrows from a folder that is here", func(y *yard) { y.lent() }, `
open: fails
said: error borrowed: this folder does not hold all of its entries itself: it borrows from /lender.git, which is here; mend
did: CREEK: wrote this log anew from the 6 entries that are held
did: FOUNDER: wrote this log anew from the 102 entries that are held
did: made this folder hold its entries itself; it borrows no more
`},
	{"it borrows from a folder that is gone", func(y *yard) { y.remove(y.lent()) }, `
open: fails
said: error borrowed: this folder does not hold all of its entries itself: it borrows from /lender.git, which is not here; mend
said: error entries-lost, FOUNDER: entries 101-102 that this device had seen are not in this folder any more (the last write is missing); mend; /stick had 102
did: CREEK: wrote this log anew from the 6 entries that are held
did: FOUNDER: wrote this log anew from the 100 entries that are held
did: CREEK: set where this log ends: entry 6
did: FOUNDER: set where this log ends: entry 100
did: FOUNDER: noted that entries 101-102 are not in this log, until an exchange brings them back
did: made this folder hold its entries itself; it borrows no more
left: error entries-lost, FOUNDER: entries 101-102 that this device had seen are not in this folder any more; /stick had 102
came: 1
`},
	{"a shortened copy", func(y *yard) {
		d := filepath.Join(filepath.Dir(y.s.Dir()), "short.git")
		y.git("clone", "-q", "--mirror", "--no-single-branch", "--depth=2", "file://"+y.s.git(), d)
		y.remove(y.s.path(pendingDir, pendingFile), y.s.git())
		copyDir(y.t, d, y.s.git())
	}, `
said: warning shortened: this folder is a shortened copy: how its logs grew is missing before a point; mend
did: CREEK: wrote the missing parts of its files anew
did: FOUNDER: wrote the missing parts of its files anew
did: CREEK: set where this log ends: entry 6
did: FOUNDER: set where this log ends: entry 102
did: made this folder a whole copy
`},
	{"git/ is empty", func(y *yard) {
		y.remove(y.s.git("objects"), y.s.git("refs"))
		if err := os.MkdirAll(y.s.git("objects"), 0o777); err != nil {
			y.t.Fatal(err)
		}
	}, `
open: fails
said: error log-end-damaged, CREEK: where this log ends is not said, or damaged; all of its 6 entries are held; mend
said: error log-end-damaged, FOUNDER: where this log ends is not said, or damaged; all of its 102 entries are held; mend
did: CREEK: wrote this log anew from the 6 entries that are held
did: FOUNDER: wrote this log anew from the 102 entries that are held
did: CREEK: set where this log ends: entry 6
did: FOUNDER: set where this log ends: entry 102
`},
}
