package main

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"shedbook/ledger/gitstore"
)

func syncCommand() *command {
	var s syncing
	return &command{
		name: "sync", section: "sharing", brief: "exchange entries with another yard, a stick or a server",
		usage:    []string{"sync [URL|NAME]", "sync --list", "sync NAME --forget"},
		examples: []string{"sync /media/stick/alder", "sync farm@yardbox:books/alder --as yardbox", "sync yardbox", "sync"},
		about: `Fetches what others recorded, verifies it, and sends what they lack; says what came, what went, and what was refused and why. A place that lost entries gets them back. The first time, name the ` +
			`place: a folder, a USB stick, an ssh or https address. An empty folder is made ready. Afterwards shedbook sync alone goes to every place it knows.

Nothing is lost if it fails half way: say it again. Exit 5 means that nothing could be exchanged.

Over ssh this device logs in with the ssh-agent's keys or --identity FILE; over https with a token from SHEDBOOK_TOKEN or --token-file, else as git would. Where these files lie is remembered, never what is in them.`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&s.as, "as", "", "what to `call` the place from now on")
			fs.BoolVar(&s.list, "list", false, "list the places this device knows")
			fs.BoolVar(&s.forget, "forget", false, "forget the place")
			s.access.flags(fs)
		},
		run: func(c *call) error { return c.sync(s) },
	}
}

type syncing struct {
	access
	as           string
	list, forget bool
}

// sync exchanges with one place, or with every place this device knows.
func (c *call) sync(s syncing) error {
	if len(c.args) > 1 {
		return usage("shedbook sync /media/stick/alder", "sync takes one address or the name of a place")
	}
	dirs, err := c.bookDirs()
	if err != nil {
		return err
	}
	store, err := gitstore.Open(dirs[0])
	if err != nil {
		return openError(dirs[0], err)
	}
	defer store.Close()
	for _, line := range store.Recovered() {
		c.say("%s\n", line)
	}
	local := store.Local()
	if local.Demo {
		return failed("demo", "shedbook new DIR starts a book of your own", "a made-up book is exchanged with nobody")
	}
	switch {
	case s.list:
		return c.listPlaces(store)
	case s.forget:
		return c.forgetPlace(store)
	case len(c.args) == 0 && s.as != "":
		return usage("shedbook sync URL --as "+s.as, "--as names a place: which?")
	}
	places, err := c.places(local, s)
	if err != nil {
		return err
	}
	if err := c.oneToken(places, s); err != nil {
		return err
	}
	out := syncedJSON{Format: 1, Places: []placeJSON{}}
	var failures []error
	unsound := false
	for i, p := range places {
		p.TokenFile, p.Identity, p.User = first(s.tokenFile, p.TokenFile), first(s.identity, p.Identity), first(s.user, p.User)
		a := access{identity: p.Identity, tokenFile: p.TokenFile, user: p.User, hostKey: s.hostKey}
		var report *gitstore.SyncReport
		err := a.run(c, p.Address, func(o gitstore.SyncOptions) error {
			var err error
			report, err = store.Sync(context.Background(), p.Address, o)
			return err
		})
		if report != nil {
			r := &syncReport{call: c, place: p, report: report, store: store, local: local}
			if err := r.gather(); err != nil {
				return err
			}
			if !c.json {
				if i > 0 {
					c.printf("\n")
				}
				r.print(len(places) > 1)
			}
			unsound = unsound || r.unsound
			out.Places = append(out.Places, r.json())
		}
		if gitstore.IsDamage(err) {
			return openError(store.Dir(), err)
		}
		if err != nil {
			failures = append(failures, noExchange(err, "what you record is safe here; say shedbook sync again when it can be reached"))
			continue
		}
		if err := c.keepPlace(store, p, a); err != nil {
			return err
		}
	}
	return c.syncEnd(out, places, failures, unsound)
}

// oneToken keeps the token of the environment from being shown to machines it is not for.
func (c *call) oneToken(places []gitstore.Place, s syncing) error {
	if c.getenv("SHEDBOOK_TOKEN") == "" || s.tokenFile != "" {
		return nil
	}
	hosts := map[string]bool{}
	for _, p := range places {
		if u, err := url.Parse(p.Address); err == nil && p.TokenFile == "" && strings.HasPrefix(u.Scheme, "http") {
			hosts[u.Host] = true
		}
	}
	if len(hosts) > 1 {
		return usage("name one place, or give each its own with shedbook sync NAME --token-file FILE", "the token in SHEDBOOK_TOKEN would be shown to %d machines", len(hosts))
	}
	return nil
}

// syncEnd says what failed, and with which exit code: 5 only if nothing could be exchanged at all.
func (c *call) syncEnd(out syncedJSON, places []gitstore.Place, failures []error, unsound bool) error {
	if len(failures) > 0 && len(failures) == len(places) {
		for _, err := range failures[1:] {
			c.say("shedbook: %v\n", err)
		}
		return failures[0]
	}
	for _, err := range failures {
		out.Failed = append(out.Failed, err.Error())
		c.say("shedbook: %v\n", err)
	}
	if c.json {
		if err := c.printJSON(out); err != nil {
			return err
		}
	}
	if unsound {
		return exitCode(exitUnsound)
	}
	return nil
}

func first(words ...string) string {
	for _, w := range words {
		if w != "" {
			return w
		}
	}
	return ""
}

// places are what to exchange with: what was said, or all that are known.
func (c *call) places(local gitstore.Local, s syncing) ([]gitstore.Place, error) {
	if len(c.args) == 0 {
		if len(local.Places) == 0 {
			return nil, usage("shedbook sync /media/stick/alder, or an address such as farm@yardbox:books/alder", "this book has been exchanged with no place yet: name one")
		}
		return local.Places, nil
	}
	said := c.args[0]
	for _, p := range local.Places {
		if strings.EqualFold(p.Name, said) {
			if s.as != "" && s.as != p.Name {
				p.Name = s.as
			}
			return []gitstore.Place{p}, c.freeName(local, p)
		}
	}
	address := c.targetPath(said)
	for _, p := range local.Places {
		if p.Address == address {
			p.Name = first(s.as, p.Name)
			return []gitstore.Place{p}, c.freeName(local, p)
		}
	}
	if !strings.ContainsAny(said, `/\:.`) && !exists(address) {
		var names []string
		for _, p := range local.Places {
			names = append(names, p.Name)
		}
		if near := didYouMean(said, names); near != "" || len(names) > 0 {
			return nil, failed("unknown-place", "shedbook sync --list shows the places; a folder is named by its path, ./"+said, "no place is called %q%s", said, near)
		}
	}
	p := gitstore.Place{Name: s.as, Address: address}
	if p.Name == "" {
		p.Name = placeName(local, address)
	}
	return []gitstore.Place{p}, c.freeName(local, p)
}

// freeName refuses a name that another place has.
func (c *call) freeName(local gitstore.Local, p gitstore.Place) error {
	for _, other := range local.Places {
		if other.Address != p.Address && strings.EqualFold(other.Name, p.Name) {
			return failed("exists", "choose another with --as", "the place %s is called %q already", other.Address, other.Name)
		}
	}
	return nil
}

// placeName makes up a name: the folder's or the machine's.
func placeName(local gitstore.Local, address string) string {
	name := ""
	switch u, err := url.Parse(address); {
	case filepath.IsAbs(address):
		name = filepath.Base(address)
	case err == nil && u.Hostname() != "":
		name = u.Hostname()
	case err == nil && u.Scheme == "file":
		name = path.Base(u.Path)
	default:
		host, _, _ := strings.Cut(address, ":")
		name = host[strings.LastIndexByte(host, '@')+1:]
	}
	name = strings.TrimSuffix(name, ".git")
	for i, try := 2, name; ; i++ {
		if !slices.ContainsFunc(local.Places, func(p gitstore.Place) bool { return strings.EqualFold(p.Name, try) }) {
			return try
		}
		try = fmt.Sprintf("%s-%d", name, i)
	}
}

// targetPath makes a folder absolute and leaves an address alone.
func (c *call) targetPath(text string) string {
	colon, slash := strings.IndexByte(text, ':'), strings.IndexAny(text, `/\`)
	if strings.Contains(text, "://") || colon >= 2 && (slash < 0 || colon < slash) && !exists(c.path(text)) {
		return text
	}
	return filepath.Clean(c.path(text))
}

func exists(name string) bool {
	_, err := os.Stat(name)
	return err == nil
}

// keepPlace remembers a place once something was exchanged with it.
func (c *call) keepPlace(store *gitstore.Store, p gitstore.Place, a access) error {
	local := store.Local()
	if err := a.place(c, &p); err != nil {
		return err
	}
	i := slices.IndexFunc(local.Places, func(q gitstore.Place) bool { return q.Address == p.Address })
	switch {
	case i < 0:
		local.Places = append(slices.Clone(local.Places), p)
	case local.Places[i] == p:
		return nil
	default:
		local.Places = slices.Clone(local.Places)
		local.Places[i] = p
	}
	if err := store.SetLocal(local); err != nil {
		return &userError{code: exitFailed, tag: "not-kept", text: fmt.Sprintf("what was exchanged with %s is safe, but the place could not be remembered: %v", p.Address, err),
			hint: "make room or mend the folder, then say it again", err: err}
	}
	if i < 0 {
		c.say("  shedbook sync alone goes there from now on; it is called %s\n", p.Name)
	}
	return nil
}

// remember keeps the place a book was fetched from.
func (c *call) remember(local *gitstore.Local, address string, a access) error {
	p := gitstore.Place{Name: placeName(*local, address), Address: address, User: a.user}
	if err := a.place(c, &p); err != nil {
		return err
	}
	local.Places = append(local.Places, p)
	return nil
}

// place notes where the files to log in with lie. An address never keeps a password.
func (a *access) place(c *call, p *gitstore.Place) error {
	if a.identity != "" {
		p.Identity = c.path(a.identity)
	}
	if a.tokenFile != "" {
		p.TokenFile = c.path(a.tokenFile)
	}
	if u, err := url.Parse(p.Address); err == nil && u.User != nil && strings.Contains(p.Address, "://") {
		if _, secret := u.User.Password(); secret {
			u.User = url.User(u.User.Username())
			p.Address = u.String()
		}
	}
	return nil
}

func (c *call) listPlaces(store *gitstore.Store) error {
	out := placesJSON{Format: 1, Places: []knownPlaceJSON{}}
	last := map[string]string{}
	targets, err := store.Targets()
	if err != nil {
		return err
	}
	for _, t := range targets {
		if !t.Last.IsZero() {
			last[t.Address] = t.Last.UTC().Format("2006-01-02T15:04:05Z")
		}
	}
	for _, p := range store.Local().Places {
		out.Places = append(out.Places, knownPlaceJSON{Name: p.Name, Address: p.Address, Last: last[p.Address]})
	}
	if c.json {
		return c.printJSON(out)
	}
	c.printPlaces(out.Places)
	return nil
}

func (c *call) forgetPlace(store *gitstore.Store) error {
	if len(c.args) != 1 {
		return usage("shedbook sync --list shows them", "--forget takes the name of a place")
	}
	local := store.Local()
	address := c.targetPath(c.args[0])
	i := slices.IndexFunc(local.Places, func(p gitstore.Place) bool { return strings.EqualFold(p.Name, c.args[0]) || p.Address == address })
	if i < 0 {
		return failed("unknown-place", "shedbook sync --list shows them", "no place is called %q", c.args[0])
	}
	gone := local.Places[i]
	local.Places = slices.Delete(slices.Clone(local.Places), i, i+1)
	if err := store.SetLocal(local); err != nil {
		return err
	}
	if c.json {
		return c.listPlaces(store)
	}
	c.printf("forgot %s (%s); what is there stays there\n", gone.Name, gone.Address)
	return nil
}
