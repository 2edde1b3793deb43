package gitstore

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/format/objfile"
	"github.com/go-git/go-git/v5/plumbing/format/pktline"
	"github.com/google/go-cmp/cmp"

	"shedbook/ledger"
)

// hostile is a target that someone has written to by hand.
type hostile struct {
	t     *testing.T
	repo  *Store
	wrote []plumbing.Hash
}

func newHostile(t *testing.T, dir string) *hostile {
	return &hostile{t: t, repo: &Store{dir: dir, visitor: "stranger", patience: lockPatience}}
}

func (h *hostile) put(kind plumbing.ObjectType, data []byte) plumbing.Hash {
	h.t.Helper()
	o := newObject(kind, data, "")
	// What lies there already is not read first: it may be more than is read.
	if err := h.repo.disk.mkdir(filepath.Dir(h.repo.loosePath(o.hash))); err != nil {
		h.t.Fatal(err)
	}
	if err := h.repo.writeLoose([]object{o}); err != nil {
		h.t.Fatal(err)
	}
	h.wrote = append(h.wrote, o.hash)
	return o.hash
}

func (h *hostile) blob(data string) plumbing.Hash { return h.put(plumbing.BlobObject, []byte(data)) }

func (h *hostile) tree(entries ...treeEntry) plumbing.Hash {
	return h.put(plumbing.TreeObject, encodeTree(entries))
}

func (h *hostile) commit(tree plumbing.Hash, parents ...plumbing.Hash) plumbing.Hash {
	var out bytes.Buffer
	fmt.Fprintf(&out, "tree %s\n", tree)
	for _, p := range parents {
		fmt.Fprintf(&out, "parent %s\n", p)
	}
	out.WriteString("author x <x@book.invalid> 0 +0000\ncommitter x <x@book.invalid> 0 +0000\n\nentry 1\n")
	return h.put(plumbing.CommitObject, out.Bytes())
}

// log makes a branch of files, each given with its content.
func (h *hostile) log(name string, files ...string) {
	var list []treeEntry
	for i, f := range files {
		list = append(list, treeEntry{fileName(i), modeFile, h.blob(f)})
	}
	h.branch(name, h.commit(h.root(h.tree(list...))))
}

func (h *hostile) root(folder plumbing.Hash, more ...treeEntry) plumbing.Hash {
	entries := append([]treeEntry{
		{readmeName, modeFile, h.blob(readmeV1)},
		{"log", modeFolder, h.tree(treeEntry{folderName(0), modeFolder, folder})},
	}, more...)
	slices.SortFunc(entries, func(a, b treeEntry) int { return strings.Compare(a.name, b.name) })
	return h.tree(entries...)
}

func (h *hostile) branch(name string, commit plumbing.Hash) {
	h.t.Helper()
	path := h.repo.git("refs", "heads", "log", name)
	if err := os.WriteFile(path, []byte(commit.String()+"\n"), 0o666); err != nil {
		h.t.Fatal(err)
	}
}

// text joins entries as a log's file has them.
func text(entries ...*ledger.Entry) string {
	var out strings.Builder
	for _, e := range entries {
		out.Write(e.Line())
	}
	return out.String()
}

// attack is something hostile that a target holds, and what is said of it.
type attack struct {
	name string
	// make writes it and returns the log it stands in.
	make func(h *hostile, s *Store, founder *device) string
	why  string
	// overHTTP is what is said instead where it does not get as far over a line.
	overHTTP string
}

// stranger is a device that asks to take part, and its first entries.
func stranger(t *testing.T, s *Store, n int) (*device, []*ledger.Entry) {
	d := newDevice(t, "stranger", s.BookID())
	return d, append([]*ledger.Entry{d.first(t)}, d.notes(t, n)...)
}

var attacks = []attack{
	{"another book's log", func(h *hostile, s *Store, _ *device) string {
		other := newDevice(h.t, "other founder", ledger.ID{})
		found := other.first(h.t)
		d := newDevice(h.t, "other device", found.ID())
		h.log(d.name, text(d.first(h.t)))
		return d.name
	}, `"log/0000/00.jsonl": line 1: the entry belongs to another book, 756119c4`, ""},
	{"a changed line", func(h *hostile, s *Store, _ *device) string {
		d, entries := stranger(h.t, s, 2)
		h.log(d.name, strings.Replace(text(entries...), "trial", "tribl", 1))
		return d.name
	}, `"log/0000/00.jsonl": line 2: the body is not the one that was signed: its digest is not the signed one`, ""},
	{"a signature taken from elsewhere", func(h *hostile, s *Store, _ *device) string {
		d, entries := stranger(h.t, s, 2)
		sig := func(e *ledger.Entry) string {
			line := string(e.Line())
			return line[strings.Index(line, `"sig":`):]
		}
		h.log(d.name, strings.Replace(text(entries...), sig(entries[1]), sig(entries[2]), 1))
		return d.name
	}, `"log/0000/00.jsonl": line 2: the signature is not by this writer over this entry`, ""},
	{"a line left out", func(h *hostile, s *Store, _ *device) string {
		d, entries := stranger(h.t, s, 3)
		h.log(d.name, text(entries[0], entries[1], entries[3]))
		return d.name
	}, `line 3: the entry does not continue the one above it`, ""},
	{"a line doubled", func(h *hostile, s *Store, _ *device) string {
		d, entries := stranger(h.t, s, 1)
		h.log(d.name, text(entries[0], entries[1], entries[1]))
		return d.name
	}, `line 3: the entry stands in this log twice`, ""},
	{"the entries of another device", func(h *hostile, s *Store, _ *device) string {
		_, entries := stranger(h.t, s, 1)
		squatted := newDevice(h.t, "not yet here", s.BookID())
		h.log(squatted.name, text(entries...))
		return squatted.name
	}, `line 1: an entry of log d65jnqmvf36ysxakirgxd67csvcvarcj stands in this log`, ""},
	{"a path that leads out", func(h *hostile, s *Store, _ *device) string {
		d, entries := stranger(h.t, s, 0)
		folder := h.tree(treeEntry{fileName(0), modeFile, h.blob(text(entries...))})
		h.branch(d.name, h.commit(h.root(folder, treeEntry{"../x", modeFile, h.blob("x")})))
		return d.name
	}, `"../x": it does not belong in a log`, ""},
	{"git's own folder", func(h *hostile, s *Store, _ *device) string {
		d, entries := stranger(h.t, s, 0)
		folder := h.tree(treeEntry{fileName(0), modeFile, h.blob(text(entries...))})
		hooks := h.tree(treeEntry{"post-checkout", "100644", h.blob("#!/bin/sh\n")})
		h.branch(d.name, h.commit(h.root(folder, treeEntry{".GIT", modeFolder, hooks})))
		return d.name
	}, `".GIT": it does not belong in a log`, ""},
	{"a link", func(h *hostile, s *Store, _ *device) string {
		d, entries := stranger(h.t, s, 0)
		folder := h.tree(treeEntry{fileName(0), modeFile, h.blob(text(entries...))})
		h.branch(d.name, h.commit(h.root(folder, treeEntry{"paper", "120000", h.blob("/etc")})))
		return d.name
	}, `"/": "paper" is neither a plain file nor a folder (its mode is "120000")`, ""},
	{"another repository", func(h *hostile, s *Store, _ *device) string {
		d, entries := stranger(h.t, s, 0)
		folder := h.tree(treeEntry{fileName(0), modeFile, h.blob(text(entries...))})
		h.branch(d.name, h.commit(h.root(folder, treeEntry{"paper", "160000", plumbing.NewHash(strings.Repeat("12", 20))})))
		return d.name
	}, `"/": "paper" is neither a plain file nor a folder (its mode is "160000")`, ""},
	{"a program", func(h *hostile, s *Store, _ *device) string {
		d, entries := stranger(h.t, s, 0)
		h.branch(d.name, h.commit(h.root(h.tree(treeEntry{fileName(0), "100755", h.blob(text(entries...))}))))
		return d.name
	}, `"log/0000": "00.jsonl" is neither a plain file nor a folder (its mode is "100755")`, ""},
	{"a line of 10 MB", func(h *hostile, s *Store, _ *device) string {
		d, _ := stranger(h.t, s, 0)
		h.log(d.name, strings.Repeat("x", 10<<20-1)+"\n")
		return d.name
	}, `"log/0000/00.jsonl": it has 10485760 bytes`,
		`a part of what came cannot be read: it has 10485760 bytes, more than 6553600`},
	{"a line of 70 kB", func(h *hostile, s *Store, _ *device) string {
		d, _ := stranger(h.t, s, 0)
		h.log(d.name, strings.Repeat("x", 70<<10-1)+"\n")
		return d.name
	}, `"log/0000/00.jsonl": line 1 has 71680 bytes, at most 65536 are allowed`, ""},
	{"one file, a hundred times", func(h *hostile, s *Store, _ *device) string {
		d, entries := stranger(h.t, s, 99)
		one := text(entries...)
		h.log(d.name, one, one)
		return d.name
	}, `"log/0000/01.jsonl": the same file stands in the log twice`, ""},
	{"two logs in one", func(h *hostile, s *Store, founder *device) string {
		d, entries := stranger(h.t, s, 0)
		tree := h.root(h.tree(treeEntry{fileName(0), modeFile, h.blob(text(entries...))}))
		h.branch(d.name, h.commit(tree, h.commit(tree), h.commit(h.tree())))
		return d.name
	}, `"the last write": two logs were merged into it, which is never done`, ""},
	{"a private part taken out", func(h *hostile, s *Store, _ *device) string {
		d := newDevice(h.t, "stranger", s.BookID())
		e := d.sign(h.t, ledger.Draft{Class: ledger.Control, Kind: ledger.KindRequest,
			Record:  ledger.Request{Key: ledger.PublicKeyOf(d.key.Public())},
			Private: ledger.ControlPrivate{Device: "tablet"}})
		line := string(e.Line())
		from := strings.Index(line, `,"private":{`)
		h.log(d.name, line[:from]+line[strings.Index(line, `,"sig":`):])
		return d.name
	}, `"log/0000/00.jsonl": line 1: the entry's private part was taken out; another copy may have it`, ""},
	{"much from a device nobody admitted", func(h *hostile, s *Store, _ *device) string {
		d, entries := stranger(h.t, s, 1)
		for size := 0; size <= ledger.MaxPendingBytes; {
			e := d.sign(h.t, ledger.Draft{Class: ledger.Shared, Kind: "season", Record: map[string]any{"name": strings.Repeat("x", 50000)}})
			entries = append(entries, e)
			size += len(e.Line())
		}
		h.log(d.name, text(entries...))
		return d.name
	}, `"log/0000/00.jsonl": nobody here has admitted this device yet, and its log has more than 1048576 bytes`, ""},
	{"a commit that is none", func(h *hostile, s *Store, _ *device) string {
		d, _ := stranger(h.t, s, 0)
		h.branch(d.name, h.blob("not a commit"))
		return d.name
	}, `"the last write": something else stands in its place`, ""},
	{"a log without entries", func(h *hostile, s *Store, _ *device) string {
		d, _ := stranger(h.t, s, 0)
		h.branch(d.name, h.commit(h.tree(treeEntry{readmeName, modeFile, h.blob(readmeV1)})))
		return d.name
	}, `"log": it is missing`, ""},
}

// Each attack, on a stick and over a line, is refused by name; a good log beside
// it comes all the same, ours is sent, and nothing of the attack is kept.
func TestHostileTargets(t *testing.T) {
	for _, over := range []string{"folder", "http"} {
		for i, a := range attacks {
			if over == "http" && a.overHTTP == "" && i%4 > 0 && !full() {
				continue // what differs over a line is how it comes, not how it is read
			}
			t.Run(over+"/"+a.name, func(t *testing.T) {
				s, founder := newBook(t)
				stick := filepath.Join(t.TempDir(), "stick")
				exchangeWith(t, s, stick)
				good := newDevice(t, "good", s.BookID())
				h := newHostile(t, stick)
				request := good.first(t)
				h.log(good.name, text(request))
				h.wrote = nil
				bad := a.make(h, s, founder)
				appendTo(t, s, founder.name, founder.note(t))
				target := stick
				if over == "http" {
					target = serveRaw(t, stick)
				}
				r := exchangeWith(t, s, target)
				why := a.why
				if over == "http" && a.overHTTP != "" {
					why = a.overHTTP
				}
				if diff := cmp.Diff([]Refusal{{Log: bad, Why: why}}, r.Refused); diff != "" {
					t.Errorf("refused:\n%s", diff)
				}
				if len(r.Came) != 1 || r.Came[0].Log != good.name || len(r.Sent) != 1 {
					t.Errorf("the rest: %+v", r)
				}
				wantEntries(t, s, good.name, []*ledger.Entry{request})
				if len(linesOf(t, s)) != 2 {
					t.Errorf("logs held: %d, want 2", len(linesOf(t, s)))
				}
				wantSound(t, s)
				packs := s.openPacks()
				defer packs.close()
				for _, hash := range h.wrote {
					readme := hash == plumbing.ComputeHash(plumbing.BlobObject, []byte(readmeV1))
					if _, err := s.history(packs)(hash); err == nil && !readme {
						t.Errorf("%s of the attack lies in the book", hash)
					}
				}
				again := exchangeWith(t, s, target)
				if diff := cmp.Diff(r.Refused, again.Refused); diff != "" || len(again.Came)+len(again.Sent) > 0 {
					t.Errorf("again: %+v", again)
				}
			})
		}
	}
}

// serveRaw serves one repository over http and hands out all that is asked for,
// whatever it is: a server that is hostile itself.
func serveRaw(t testing.TB, dir string) string {
	t.Helper()
	good := serveHTTP(t, filepath.Dir(dir), "") + "/" + filepath.Base(dir)
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		repo := &Store{dir: dir, visitor: "server"}
		switch {
		case r.URL.Query().Get("service") == uploadPack:
			e := pktline.NewEncoder(w)
			e.EncodeString("# service=" + uploadPack + "\n")
			e.Flush()
			caps := "\x00ofs-delta"
			refs, err := filepath.Glob(repo.git("refs", "heads", "log", "*"))
			if err != nil {
				t.Error(err)
			}
			for _, path := range refs {
				hash, _ := os.ReadFile(path)
				e.EncodeString(fmt.Sprintf("%s %s%s%s\n", strings.TrimSpace(string(hash)), refPrefix, filepath.Base(path), caps))
				caps = ""
			}
			e.Flush()
		case filepath.Base(r.URL.Path) == uploadPack:
			pktline.NewEncoder(w).EncodeString("NAK\n")
			m := newMerger(repo)
			defer m.close()
			p := &parcel{from: repo, all: true}
			if err := p.load(m); err != nil {
				t.Error(err)
			}
			body, err := io.ReadAll(r.Body)
			if err != nil {
				t.Error(err)
			}
			reached := map[plumbing.Hash]object{}
			for _, want := range regexp.MustCompile(`want ([0-9a-f]{40})`).FindAllSubmatch(body, -1) {
				reach(repo, plumbing.NewHash(string(want[1])), reached)
			}
			for _, hash := range sortedHashes(reached) {
				m.extra = append(m.extra, reached[hash])
			}
			if err := m.copy(w); err != nil && !strings.Contains(err.Error(), "reset") && !strings.Contains(err.Error(), "pipe") {
				t.Error(err)
			}
		default: // what is sent
			res, err := forward(r, good)
			if err != nil {
				t.Error(err)
				return
			}
			defer res.Body.Close()
			w.WriteHeader(res.StatusCode)
			io.Copy(w, res.Body)
		}
	}))
	t.Cleanup(s.Close)
	return s.URL
}

// reach gathers the loose objects that can be reached from one.
func reach(s *Store, hash plumbing.Hash, reached map[plumbing.Hash]object) {
	o, err := rawLoose(s, hash)
	if _, again := reached[hash]; err != nil || again {
		return
	}
	reached[hash] = o
	switch o.kind {
	case plumbing.CommitObject:
		for _, id := range regexp.MustCompile(`(?m)^(?:tree|parent) ([0-9a-f]{40})$`).FindAllSubmatch(o.data, -1) {
			reach(s, plumbing.NewHash(string(id[1])), reached)
		}
	case plumbing.TreeObject:
		for data := o.data; len(data) > 0; {
			end := bytes.IndexByte(data, 0) + 1
			reach(s, plumbing.Hash(data[end:end+20]), reached)
			data = data[end+20:]
		}
	}
}

func sortedHashes(m map[plumbing.Hash]object) []plumbing.Hash {
	all := slices.Collect(maps.Keys(m))
	slices.SortFunc(all, func(a, b plumbing.Hash) int { return bytes.Compare(a[:], b[:]) })
	return all
}

func forward(r *http.Request, to string) (*http.Response, error) {
	u := to + r.URL.Path
	if r.URL.RawQuery != "" {
		u += "?" + r.URL.RawQuery
	}
	req, err := http.NewRequest(r.Method, u, r.Body)
	if err != nil {
		return nil, err
	}
	return http.DefaultClient.Do(req)
}

// rawLoose reads a loose object of any size.
func rawLoose(s *Store, hash plumbing.Hash) (object, error) {
	f, err := os.Open(s.loosePath(hash))
	if err != nil {
		return object{}, err
	}
	defer f.Close()
	r, err := objfile.NewReader(f)
	if err != nil {
		return object{}, err
	}
	kind, _, err := r.Header()
	if err != nil {
		return object{}, err
	}
	data, err := io.ReadAll(r)
	return object{kind: kind, hash: hash, data: data}, err
}

func TestHostileNames(t *testing.T) {
	s, founder := newBook(t)
	stick := filepath.Join(t.TempDir(), "stick")
	exchangeWith(t, s, stick)
	h := newHostile(t, stick)
	good := newDevice(t, "good", s.BookID())
	h.log(good.name, text(good.first(t)))
	commit, err := os.ReadFile(h.repo.git("refs", "heads", "log", founder.name))
	if err != nil {
		t.Fatal(err)
	}
	id := strings.TrimSpace(string(commit))
	packed := "# pack-refs with: peeled fully-peeled sorted \n"
	for _, name := range []string{"../../../escape", founder.name + "..x", "UPPER", founder.name + "/under"} {
		packed += id + " " + refPrefix + name + "\n"
	}
	packed += id + " refs/heads/other\n"
	if err := os.WriteFile(h.repo.git("packed-refs"), []byte(packed), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(h.repo.git("refs", "heads", "log", "folder"), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("/dev/zero", h.repo.git("refs", "heads", "log", strings.Repeat("a", 32))); err != nil {
		t.Fatal(err)
	}
	r := exchangeWith(t, s, stick)
	want := []Refusal{
		{"../../../escape", whyNoName}, {"UPPER", whyNoName}, {strings.Repeat("a", 32), "it is not a plain file"},
		{"folder", whyNoName}, {founder.name + "..x", whyNoName}, {founder.name + "/under", whyNoName},
	}
	slices.SortFunc(want, func(a, b Refusal) int { return strings.Compare(a.Log, b.Log) })
	if diff := cmp.Diff(want, r.Refused); diff != "" {
		t.Errorf("refused:\n%s", diff)
	}
	if len(r.Came) != 1 || r.Came[0].Log != good.name {
		t.Errorf("the good log did not come: %+v", r)
	}
}

// A device that a worker lets in, who may not, is one that nobody admitted: its
// log must be small.
func TestAdmittedByWorker(t *testing.T) {
	a, founder := newBook(t)
	stick := filepath.Join(t.TempDir(), "stick")
	exchangeWith(t, a, stick)
	b := joinFrom(t, stick)
	worker := newDevice(t, "worker", b.BookID())
	admit := func(by, whom *device) *ledger.Entry {
		return by.sign(t, ledger.Draft{Class: ledger.Control, Kind: ledger.KindAdmit,
			Record: ledger.Admit{Key: ledger.PublicKeyOf(whom.key.Public()), Role: ledger.RoleWorker}})
	}
	appendTo(t, a, founder.name, admit(founder, worker))
	friend, entries := stranger(t, b, 0)
	for size := 0; size <= ledger.MaxPendingBytes; {
		e := friend.sign(t, ledger.Draft{Class: ledger.Shared, Kind: "season", Record: map[string]any{"name": strings.Repeat("x", 50000)}})
		entries = append(entries, e)
		size += len(e.Line())
	}
	appendTo(t, b, worker.name, worker.first(t), admit(worker, friend))
	appendTo(t, b, friend.name, entries...)
	exchangeWith(t, b, stick)
	r := exchangeWith(t, a, stick)
	want := []Refusal{{Log: friend.name, Why: "nobody here has admitted this device yet, and its log has more than 1048576 bytes"}}
	if diff := cmp.Diff(want, r.Refused); diff != "" || len(r.Came) != 1 || r.Came[0].Log != worker.name {
		t.Errorf("%s\n%+v", diff, r)
	}
}

// 2,000 branches of strangers: those that fit are looked at, at most 64 of
// devices nobody admitted are kept, and a device that is known comes first.
func TestHostileCrowd(t *testing.T) {
	ways := []string{"folder"}
	if full() {
		ways = append(ways, "http")
	}
	for _, over := range ways {
		t.Run(over, func(t *testing.T) {
			s, founder := newBook(t)
			stick := filepath.Join(t.TempDir(), "stick")
			exchangeWith(t, s, stick)
			b := joinFrom(t, stick)
			appendTo(t, b, founder.name, founder.notes(t, 2)...) // as if from the founder's laptop
			exchangeWith(t, b, stick)
			h := newHostile(t, stick)
			names := map[string]bool{}
			for i := range 2000 {
				if i < 90 {
					d := newDevice(t, fmt.Sprint("stranger ", i), s.BookID())
					h.log(d.name, text(d.first(t)))
					names[d.name] = true
					continue
				}
				// "zzzzzzzz...": behind all others.
				name := ledger.Writer{0xce, 0x73, 0x9c, 0xe7, 0x39, byte(i >> 8), byte(i)}.String()
				h.branch(name, h.blob("rubbish"))
				names[name] = true
			}
			target := stick
			if over == "http" {
				target = serveRaw(t, stick)
			}
			r := exchangeWith(t, s, target)
			if len(linesOf(t, s)) != 1+ledger.MaxPendingLogs || len(linesOf(t, s)[founder.name]) != 3 {
				t.Errorf("%d logs held, %d entries of the founder", len(linesOf(t, s)), len(linesOf(t, s)[founder.name]))
			}
			why := map[string]int{}
			for _, one := range r.Refused {
				if why[one.Why]++; !names[one.Log] {
					t.Errorf("refused: %+v", one)
				}
			}
			want := map[string]int{
				"nobody here has admitted this device yet, and more than 64 such logs are not kept": 26,
				"the target has more than 1024 logs that are new; this one was not looked at":       2000 - 1023,
				`"the last write": something else stands in its place`:                              1023 - 90,
			}
			if diff := cmp.Diff(want, why); diff != "" {
				t.Errorf("refused:\n%s", diff)
			}
			if len(r.Came) != 1+ledger.MaxPendingLogs {
				t.Errorf("%d logs came", len(r.Came))
			}
		})
	}
}

func TestAnotherBook(t *testing.T) {
	s, _ := newBook(t)
	other, _ := newBookAt(t, filepath.Join(t.TempDir(), "other"), "other founder")
	stick := filepath.Join(t.TempDir(), "stick")
	exchangeWith(t, other, stick)
	before := chainsOf(t, joinFrom(t, stick))
	_, err := s.Sync(context.Background(), stick, SyncOptions{})
	var none *NoExchangeError
	if !errors.As(err, &none) {
		t.Fatalf("error %v", err)
	}
	if want := fmt.Sprintf("it holds another book, %s, and this one is %s; nothing was taken or sent", other.BookID().Short(), s.BookID().Short()); none.Why != want {
		t.Errorf("why: %s", none.Why)
	}
	if diff := cmp.Diff(before, chainsOf(t, joinFrom(t, stick))); diff != "" {
		t.Errorf("the target was written to:\n%s", diff)
	}
	_, _, err = Join(context.Background(), stick, filepath.Join(t.TempDir(), "joined"), SyncOptions{Book: s.BookID()})
	if !errors.As(err, &none) || none.Why != fmt.Sprintf("it holds another book, %s, and not %s", other.BookID().Short(), s.BookID().Short()) {
		t.Errorf("join: %v", err)
	}
}
