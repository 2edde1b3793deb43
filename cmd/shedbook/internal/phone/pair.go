package phone

import (
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"io"
	"math/big"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"
)

// How long a token and a phone that waits are good for, and how many wrong numbers may be typed at the laptop.
const (
	tokenLives = 10 * time.Minute
	mostTries  = 5
	mostAsking = 8
)

// Waiting is a phone that shows its number and waits for it to be typed at the laptop.
type Waiting struct{ Name, Phone string }

// asking is a phone on its way to being paired.
type asking struct {
	Waiting
	person, number, secret string
	since                  time.Time
}

// pairing is the way in. Everything in it is forgotten when the program ends.
type pairing struct {
	now    func() time.Time
	random io.Reader

	mu     sync.Mutex
	token  string // "" none is good
	made   time.Time
	asking []asking
	tries  int
}

// draw gives n random bytes as text for addresses and cookies.
func (p *pairing) draw(n int) (string, error) {
	b := make([]byte, n)
	if _, err := io.ReadFull(p.random, b); err != nil {
		return "", err
	}
	return base64.RawURLEncoding.EncodeToString(b), nil
}

// invite makes the token of the next phone; the one before is no longer good.
func (p *pairing) invite() (string, error) {
	t, err := p.draw(16)
	if err != nil {
		return "", err
	}
	p.mu.Lock()
	p.token, p.made = t, p.now()
	p.mu.Unlock()
	return t, nil
}

// good reports whether a token may still be used. It is not used up by being asked about: some programs open an address to show what is there.
func (p *pairing) good(token string) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.fits(token)
}

func (p *pairing) fits(token string) bool {
	return p.token != "" && p.now().Sub(p.made) < tokenLives && subtle.ConstantTimeCompare([]byte(token), []byte(p.token)) == 1
}

// begin uses the token up and lets a phone wait. It returns the cookie and the number to show.
func (p *pairing) begin(token string, who Person, phone string) (secret, number string, err error) {
	secret, err = p.draw(32)
	if err != nil {
		return "", "", err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if !p.fits(token) {
		return "", "", errUsed
	}
	p.drop()
	if len(p.asking) >= mostAsking {
		return "", "", &Refused{Text: "Too many phones wait to be paired.", Next: "Pair those first, or wait ten minutes."}
	}
	for number == "" || p.shown(number) {
		if number, err = p.digits(); err != nil {
			return "", "", err
		}
	}
	p.token = ""
	p.asking = append(p.asking, asking{Waiting{who.Name, phone}, who.ID, number, digest(secret), p.now()})
	return secret, number, nil
}

var errUsed = &Refused{Text: "This invitation was used already, or is too old.", Next: "Press Enter at the laptop for a new one."}

// digits draws a number of four digits, each as likely as another.
func (p *pairing) digits() (string, error) {
	for {
		b := make([]byte, 2)
		if _, err := io.ReadFull(p.random, b); err != nil {
			return "", err
		}
		n := new(big.Int).SetBytes(b).Int64()
		if n < 60000 { // 65536 is no multiple of 10000
			return fmt.Sprintf("%04d", n%10000), nil
		}
	}
}

func (p *pairing) shown(number string) bool {
	for _, a := range p.asking {
		if a.number == number {
			return true
		}
	}
	return false
}

// drop forgets phones that waited too long.
func (p *pairing) drop() {
	var left []asking
	for _, a := range p.asking {
		if p.now().Sub(a.since) < tokenLives {
			left = append(left, a)
		}
	}
	p.asking = left
}

// number is what the phone of a cookie shows while it waits.
func (p *pairing) number(secret string) (string, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.drop()
	for _, a := range p.asking {
		if subtle.ConstantTimeCompare([]byte(a.secret), []byte(digest(secret))) == 1 {
			return a.number, true
		}
	}
	return "", false
}

// confirm takes the number typed at the laptop and gives the phone that shows it. After too many wrong ones no phone waits any more.
func (p *pairing) confirm(number string) (asking, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.drop()
	if len(p.asking) == 0 {
		return asking{}, fmt.Errorf("no phone waits for a number")
	}
	for i, a := range p.asking {
		if a.number == strings.TrimSpace(number) {
			p.asking, p.tries = append(p.asking[:i:i], p.asking[i+1:]...), 0
			return a, nil
		}
	}
	if p.tries++; p.tries >= mostTries {
		p.asking, p.tries = nil, 0
		return asking{}, fmt.Errorf("%d wrong numbers: no phone waits any more; press Enter for a new invitation", mostTries)
	}
	return asking{}, fmt.Errorf("no phone shows %s", number)
}

// Invite gives the address, below the server's own, that brings the next phone in; it is good once, for ten minutes.
func (s *Server) Invite() (path string, err error) {
	t, err := s.pair.invite()
	return "/pair/" + t, err
}

// InviteTo is Invite to a job: a phone that is paired already goes there at once, a new one when it is paired.
func (s *Server) InviteTo(machine, job string) (path string, err error) {
	path, err = s.Invite()
	return path + query(goesTo(JobPath(machine, job))), err
}

// Confirm pairs the phone that shows the number typed at the laptop.
func (s *Server) Confirm(number string) (Hand, error) {
	a, err := s.pair.confirm(number)
	if err != nil {
		return Hand{}, err
	}
	id := make([]byte, 4)
	if _, err := io.ReadFull(s.Random, id); err != nil {
		return Hand{}, err
	}
	h := Hand{ID: hex.EncodeToString(id), Person: a.person, Name: a.Name, Phone: a.Phone, Secret: a.secret, Since: s.Now().UTC().Truncate(time.Second)}
	return h, s.hands.add(h)
}

// Hands lists the paired phones.
func (s *Server) Hands() []Hand { return s.hands.list() }

// Remove turns a phone away: what it sends from now on is refused.
func (s *Server) Remove(name string) (Hand, error) { return s.hands.remove(name) }

// phoneName is what a phone is called: a short line that can be read aloud.
func phoneName(s string) (string, error) {
	s = strings.Join(strings.Fields(s), " ")
	switch {
	case s == "":
		return "", &Refused{Text: "Say what this phone is called, for instance: barn phone."}
	case utf8.RuneCountInString(s) > 40:
		return "", &Refused{Text: "That is too long a name for a phone: at most 40 letters."}
	}
	for _, r := range s {
		if !unicode.IsPrint(r) {
			return "", &Refused{Text: "That name holds a character that cannot be shown."}
		}
	}
	return s, nil
}
