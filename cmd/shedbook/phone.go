package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"net/netip"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/phone"
)

// phoning is what a person asks of phone.
type phoning struct {
	lan, yard, idle string
	port            int
	machine, job    string // at which the page is opened; "" today
}

// Defaults of the phone page: a port that is always the same, so that a phone finds its way back, and how long it waits for anybody.
const (
	phonePort = 8642
	phoneIdle = 2 * time.Hour
)

// phoneJSON is what phone prints with --json once phones can come.
type phoneJSON struct {
	Format     int    `json:"format"`
	Address    string `json:"address"`
	Invitation string `json:"invitation"`
	Phones     int    `json:"phones"`
	Idle       int    `json:"idle_minutes"`
}

func phoneCommand() *command {
	var a phoning
	return &command{
		name: "phone", section: "in the shed", brief: "open the page for phones in the shop",
		usage:    []string{"phone [MACHINE JOB] [--lan ADDRESS] [--yard NAME] [--idle TIME] [--port NUMBER]"},
		examples: []string{"phone", "phone --lan 192.168.1.20", "phone drill grease --lan 192.168.1.20", "phone --lan 192.168.1.20 --yard home --idle 8h"},
		about: `Serves a page on which family and hands see what is due and record what they did, found and put right. Everything stays on this computer: no cloud, no account.

Left to itself the page can be reached from this computer only. --lan names the one address of this computer at which phones on the same Wi-Fi may come too.

Each phone is paired once: point its camera at the square that is shown, choose who you are, then type here the number that the phone shows. From then on it is the hand of that person. ` +
			`This computer's key signs what a phone enters, and the entry says who entered it on which phone: that is what the phone said, and no signature of that person's.

The way between phone and computer is not locked (plain http): whoever listens on the same Wi-Fi can read along. Use your own Wi-Fi, not a guest's.

With a machine and a job the square leads to that job: a phone that is paired opens it there, a new one as soon as it is paired.

While it runs, type here: Enter for another phone, the number that a phone shows, "job MACHINE JOB" for a square that leads there, "phones", "remove NAME", "stop".`,
		flags: func(fs *pflag.FlagSet) {
			fs.StringVar(&a.lan, "lan", "", "also for phones, at this one `address` of this computer")
			fs.StringVar(&a.yard, "yard", "", "show first what is due at this `yard`")
			fs.StringVar(&a.idle, "idle", "", "end after this `time` without a visit: 30m, 8h (left out: 2h)")
			fs.IntVar(&a.port, "port", phonePort, "the port `number`; 0 takes a free one")
		},
		run: func(c *call) error { return c.phone(a) },
	}
}

func (c *call) phone(a phoning) error {
	if len(c.args) == 1 {
		return usage("shedbook phone "+c.args[0]+" grease", "which job of %s?", c.args[0])
	}
	idle := phoneIdle
	if a.idle != "" {
		var err error
		if idle, err = time.ParseDuration(strings.ReplaceAll(a.idle, " ", "")); err != nil || idle < time.Minute || idle > 7*24*time.Hour {
			return usage("write --idle 30m or --idle 8h", "--idle %q is no time to wait: a minute to seven days", a.idle)
		}
	}
	if a.port < 0 || a.port > 65535 {
		return usage("leave --port out", "--port %d: ports are 1 to 65535, and 0 takes a free one", a.port)
	}
	host, err := phoneHost(a.lan)
	if err != nil {
		return err
	}
	shop, err := c.openShop()
	if err != nil {
		return err
	}
	defer shop.close()
	c.say("reading the book\n")
	if len(c.args) > 0 {
		if a.machine, a.job, err = shop.jobNamed(c.args); err != nil {
			return err
		}
	}
	if _, err := shop.Today(a.yard); err != nil { // the first phone need not wait for what takes long once
		return err
	}
	listener, err := net.Listen("tcp", net.JoinHostPort(host, strconv.Itoa(a.port)))
	if err != nil {
		return failed("no-listen", "is it an address of this computer, and is the port free? --port takes another", "the page cannot be opened at %s: %v", net.JoinHostPort(host, strconv.Itoa(a.port)), err)
	}
	return c.servePhone(shop, listener, a, idle)
}

// jobNamed is the job of a machine that words name: drill torque check.
func (s *shop) jobNamed(words []string) (machine, job string, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	b, err := s.fresh()
	if err != nil {
		return "", "", err
	}
	st, err := b.outlineNow()
	if err != nil {
		return "", "", err
	}
	m, err := findMachine(st, strings.ToLower(words[0]))
	if err != nil {
		return "", "", err
	}
	name := strings.ToLower(strings.Join(words[1:], "-"))
	if m.Fitted == nil {
		return "", "", failed("no-schedule", "shedbook schedule list", "the schedule %q of %s is not known", m.Kind, m.Name)
	}
	if def, ok := m.Fitted.Job(name); ok {
		return m.Name, def.Name, nil
	}
	var known []string
	for _, j := range m.Fitted.Jobs {
		known = append(known, j.Name)
	}
	return "", "", failed("unknown-job", "shedbook schedule show "+m.Name+" job", "%s has no job %q%s", m.Name, name, didYouMean(name, known))
}

// phoneHost is the one address to listen at: this computer's own, or a private one that --lan names. What the whole world can reach is refused.
func phoneHost(lan string) (string, error) {
	if lan == "" {
		return "127.0.0.1", nil
	}
	ip, err := netip.ParseAddr(lan)
	if err != nil || ip.Zone() != "" {
		return "", usage("write --lan 192.168.1.20, an address of this computer", "--lan %q is no address", lan)
	}
	ip = ip.Unmap()
	if !ip.IsPrivate() && !ip.IsLoopback() && !ip.IsLinkLocalUnicast() {
		return "", usage("name the address that this computer has on your own network", "--lan %s is not a private address: others could reach the page from outside", ip)
	}
	return ip.String(), nil
}

// phoneAt is the address of the page as it is said for a card: an address, perhaps with its port.
func phoneAt(text string) (string, error) {
	host, port, err := net.SplitHostPort(text)
	if err != nil {
		host, port = strings.Trim(text, "[]"), strconv.Itoa(phonePort)
	}
	if n, err := strconv.Atoi(port); err != nil || n < 1 || n > 65535 {
		return "", usage("write --phone 192.168.1.20", "--phone %q: %q is no port", text, port)
	}
	ip, err := netip.ParseAddr(host)
	if err != nil || ip.Zone() != "" {
		return "", usage("write --phone 192.168.1.20, the address that shedbook phone --lan is told", "--phone %q is no address", text)
	}
	if ip = ip.Unmap(); !ip.IsPrivate() && !ip.IsLoopback() && !ip.IsLinkLocalUnicast() {
		return "", usage("name the address that this computer has on your own network", "--phone %s is not a private address", ip)
	}
	return "http://" + net.JoinHostPort(ip.String(), port), nil
}

// hostsOf are the names by which a browser may call the page: no others are answered.
func hostsOf(listener net.Listener) []string {
	host, port, _ := net.SplitHostPort(listener.Addr().String())
	hosts := []string{net.JoinHostPort(host, port)}
	if ip, err := netip.ParseAddr(host); err == nil && ip.IsLoopback() {
		hosts = append(hosts, net.JoinHostPort("localhost", port))
	}
	return hosts
}

// servePhone answers phones until somebody types stop or nobody comes any more.
func (c *call) servePhone(shop *shop, listener net.Listener, a phoning, idle time.Duration) error {
	defer listener.Close()
	visits := make(chan struct{}, 1)
	touched := func() {
		select {
		case visits <- struct{}{}:
		default:
		}
	}
	own, _ := shop.b.judged.Device(shop.writer())
	page, err := phone.New(phone.Config{Shed: shop, Folder: shop.b.store.Dir(), Hosts: hostsOf(listener), Yard: a.yard, Laptop: own.Label, Now: time.Now, Random: c.random, Touched: touched,
		Asking: func(w phone.Waiting) {
			c.say("\na phone asks to be paired: %q, as %s. Type the number that it shows:\n", w.Phone, w.Name)
		}})
	if err != nil {
		return failed("no-phones", "mend the file, or take it away: every phone is then paired anew", "%v", err)
	}
	server := &http.Server{Handler: page, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 30 * time.Second, WriteTimeout: 30 * time.Second, IdleTimeout: time.Minute, MaxHeaderBytes: 16 << 10,
		ErrorLog: log.New(io.Discard, "", 0)}
	failedServing := make(chan error, 1)
	go func() { failedServing <- server.Serve(fewer(listener, 64)) }()
	defer func() {
		ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
		defer cancel()
		_ = server.Shutdown(ctx)
	}()
	address := "http://" + hostsOf(listener)[0]
	if err := c.phoneBegins(page, address, a, idle); err != nil {
		return err
	}
	lines := make(chan string)
	go c.phoneLines(lines)
	timer := time.NewTimer(idle)
	defer timer.Stop()
	for {
		select {
		case <-visits:
			timer.Reset(idle)
		case <-timer.C:
			c.say("nobody came for %s: the page is closed\n", idle)
			return nil
		case err := <-failedServing:
			if errors.Is(err, http.ErrServerClosed) {
				return nil
			}
			return failed("no-listen", "", "the page cannot go on: %v", err)
		case line, ok := <-lines:
			if !ok {
				lines = nil // nobody types any more; phones that are paired go on
				continue
			}
			timer.Reset(idle)
			if c.phoneLine(shop, page, address, line) {
				return nil
			}
		}
	}
}

// phoneLines passes on what is typed, until the input ends.
func (c *call) phoneLines(to chan<- string) {
	defer close(to)
	for {
		line, err := c.readLine()
		if err != nil {
			return
		}
		to <- strings.TrimSpace(line)
	}
}

// phoneBegins says where the page is and shows the first invitation.
func (c *call) phoneBegins(page *phone.Server, address string, a phoning, idle time.Duration) error {
	invite := page.Invite
	if a.job != "" {
		invite = func() (string, error) { return page.InviteTo(a.machine, a.job) }
	}
	path, err := invite()
	if err != nil {
		return err
	}
	if c.json {
		return c.printJSON(phoneJSON{1, address, address + path, len(page.Hands()), int(idle / time.Minute)})
	}
	c.printf("the phone page is open at %s\n", address)
	if !strings.Contains(address, "127.0.0.1") && !strings.Contains(address, "[::1]") {
		c.printf("  the way to it is not locked: whoever listens on the same Wi-Fi can read along\n")
	}
	if strings.Contains(address, "127.0.0.1") || strings.Contains(address, "[::1]") {
		c.printf("  only this computer reaches it; for phones on the same Wi-Fi, end it and say: shedbook phone --lan ADDRESS, this computer's own there\n")
	}
	c.showInvitation(address + path)
	if a.job != "" {
		c.printf("  it leads to %s: %s; a phone that is paired goes there at once\n", a.machine, strings.ReplaceAll(a.job, "-", " "))
	}
	c.say("Enter: another phone; job MACHINE JOB; phones; remove NAME; stop\n")
	return nil
}

// showInvitation draws the address that brings a phone in, good once.
func (c *call) showInvitation(address string) {
	if c.shows {
		if blocks, err := phone.Blocks(address); err == nil {
			c.printf("\n%s\n", blocks)
		}
	}
	c.printf("to pair a phone, once, within ten minutes: %s\n", address)
}

// phoneLine does what was typed; true ends the page.
func (c *call) phoneLine(shop *shop, page *phone.Server, address, line string) (stop bool) {
	word, rest, _ := strings.Cut(line, " ")
	switch {
	case line == "":
		path, err := page.Invite()
		if err != nil {
			c.complain("shedbook: " + err.Error())
			return false
		}
		c.showInvitation(address + path)
	case strings.Trim(line, "0123456789") == "":
		h, err := page.Confirm(line)
		if err != nil {
			c.complain("shedbook: " + err.Error())
			return false
		}
		c.printf("paired: the phone %q is the hand of %s; to turn it away: remove %s\n", h.Phone, h.Name, h.Phone)
	case word == "job" && len(strings.Fields(rest)) > 1:
		machine, job, err := shop.jobNamed(strings.Fields(rest))
		var path string
		if err == nil {
			path, err = page.InviteTo(machine, job)
		}
		if err != nil {
			c.complain("shedbook: " + err.Error())
			return false
		}
		c.showInvitation(address + path)
	case word == "phones":
		all := page.Hands()
		for _, h := range all {
			c.printf("%s, hand of %s, since %s\n", h.Phone, h.Name, h.Since.Local().Format("Mon 2006-01-02"))
		}
		if len(all) == 0 {
			c.printf("no phone is paired\n")
		}
	case word == "remove":
		h, err := page.Remove(strings.TrimSpace(rest))
		if err != nil {
			c.complain("shedbook: " + err.Error())
			return false
		}
		c.printf("removed: the phone %q of %s; what it entered stays\n", h.Phone, h.Name)
	case word == "stop":
		c.say("the page is closed\n")
		return true
	default:
		c.complain(fmt.Sprintf("shedbook: %q? Enter: another phone; the number a phone shows; job MACHINE JOB; phones; remove NAME; stop", line))
	}
	return false
}

// fewer keeps at most n connections open at once; others wait.
func fewer(l net.Listener, n int) net.Listener { return &fewListener{l, make(chan struct{}, n)} }

type fewListener struct {
	net.Listener
	open chan struct{}
}

func (l *fewListener) Accept() (net.Conn, error) {
	l.open <- struct{}{}
	c, err := l.Listener.Accept()
	if err != nil {
		<-l.open
		return nil, err
	}
	return &fewConn{Conn: c, done: l.open}, nil
}

type fewConn struct {
	net.Conn
	done chan struct{}
	once sync.Once
}

func (c *fewConn) Close() error {
	c.once.Do(func() { <-c.done })
	return c.Conn.Close()
}
