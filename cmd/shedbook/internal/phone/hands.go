package phone

import (
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
)

// handsFile lies in the book's folder and is never synced. It holds no cookie, only their digests.
const handsFile = "phones.json"

// mostHands is how many phones may be paired with one book on one device.
const mostHands = 64

// hands are the paired phones.
type hands struct {
	path string
	mu   sync.Mutex
	all  []Hand
}

type handsJSON struct {
	Format int    `json:"format"`
	Phones []Hand `json:"phones"`
}

// loadHands reads those of a book. A file that cannot be read is an error: to start anew would turn every phone away without a word.
func loadHands(folder string) (*hands, error) {
	h := &hands{path: filepath.Join(folder, handsFile)}
	data, err := os.ReadFile(h.path)
	if errors.Is(err, os.ErrNotExist) {
		return h, nil
	}
	if err != nil {
		return nil, err
	}
	var f handsJSON
	if err := json.Unmarshal(data, &f); err != nil {
		return nil, fmt.Errorf("%s: %w", h.path, err)
	}
	if f.Format != 1 {
		return nil, fmt.Errorf("%s was made by a newer shedbook", h.path)
	}
	h.all = f.Phones
	return h, nil
}

// digest is what is kept of a cookie.
func digest(secret string) string {
	sum := sha256.Sum256([]byte("shedbook-phone-v1\n" + secret))
	return hex.EncodeToString(sum[:])
}

// find is the hand of a cookie.
func (h *hands) find(secret string) (Hand, bool) {
	want := digest(secret)
	h.mu.Lock()
	defer h.mu.Unlock()
	var found Hand
	ok := false
	for _, x := range h.all {
		if subtle.ConstantTimeCompare([]byte(x.Secret), []byte(want)) == 1 {
			found, ok = x, true
		}
	}
	return found, ok
}

// add keeps a phone; only once it is on the disk is it paired.
func (h *hands) add(x Hand) error {
	h.mu.Lock()
	defer h.mu.Unlock()
	if len(h.all) >= mostHands {
		return fmt.Errorf("%d phones are paired already: remove one first", len(h.all))
	}
	if slices.ContainsFunc(h.all, func(y Hand) bool { return strings.EqualFold(y.Phone, x.Phone) }) {
		return fmt.Errorf("a phone is called %q already", x.Phone)
	}
	return h.save(append(slices.Clone(h.all), x))
}

// free is a name that no phone has yet.
func (h *hands) free() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	name := "phone"
	for n := 2; slices.ContainsFunc(h.all, func(y Hand) bool { return strings.EqualFold(y.Phone, name) }); n++ {
		name = fmt.Sprint("phone ", n)
	}
	return name
}

// remove forgets the phone of that id or name.
func (h *hands) remove(name string) (Hand, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	i := slices.IndexFunc(h.all, func(y Hand) bool { return y.ID == name || strings.EqualFold(y.Phone, name) })
	if i < 0 {
		return Hand{}, fmt.Errorf("no phone is called %q", name)
	}
	gone := h.all[i]
	return gone, h.save(slices.Delete(slices.Clone(h.all), i, i+1))
}

func (h *hands) list() []Hand {
	h.mu.Lock()
	defer h.mu.Unlock()
	return slices.Clone(h.all)
}

// save replaces the file whole or not at all.
func (h *hands) save(all []Hand) error {
	data, err := json.MarshalIndent(handsJSON{1, all}, "", "  ")
	if err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(h.path), handsFile+".*") // 0600
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(append(data, '\n'))
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), h.path)
	}
	if err == nil {
		h.all = all
	}
	return err
}
