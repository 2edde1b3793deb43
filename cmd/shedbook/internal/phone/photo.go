package phone

import (
	"errors"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"time"

	"shedbook/cmd/shedbook/internal/photo"
)

// maxUpload is the most that a form with a photo may carry, in bytes. What says of itself that it is more is refused before any of it is read.
const maxUpload = photo.MaxFile + maxForm

// uploadTime is how long a form with a photo may be on its way.
const uploadTime = 2 * time.Minute

// mostWaiting is how many photos wait at once for a form that was asked about to come again.
const mostWaiting = 16

// Photo is one that a form brought, made fit to be kept.
type Photo struct {
	Name string
	*photo.Paper
	Was int64 // bytes that came
}

// Shot is a paper as a page leads to it.
type Shot struct {
	Digest, Name string
	Picture      bool // it can be shown
}

// photos are those of forms that were sent and not recorded yet, by phone and key of the form: a form that is asked about, or corrected, comes again without its
// photo, as no page may fill in a field for files.
type photos struct {
	mu    sync.Mutex
	by    map[string]*Photo
	order []string
}

func (p *photos) put(key string, one *Photo) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.by == nil {
		p.by = map[string]*Photo{}
	}
	if p.by[key] == nil {
		p.order = append(p.order, key)
	}
	p.by[key] = one
	for len(p.order) > mostWaiting {
		delete(p.by, p.order[0])
		p.order = p.order[1:]
	}
}

func (p *photos) get(key string) *Photo {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.by[key]
}

// drop forgets a photo whose form was recorded.
func (p *photos) drop(key string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.by, key)
	for i, k := range p.order {
		if k == key {
			p.order = append(p.order[:i], p.order[i+1:]...)
			return
		}
	}
}

// uploads reports whether a request may carry a photo: it must come to where forms are recorded, from a paired phone, and not say that it is too long.
// Nothing of it is read for that.
func (s *Server) uploads(r *http.Request) bool {
	_, paired := s.hands.find(secret(r))
	return paired && r.URL.Path == "/record" && strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/form-data")
}

// upload reads a form with a photo, part by part: fields into PostForm as any form's, the photo made small as it is read. Where it cannot be taken, it has
// been answered, and nothing was recorded.
func (s *Server) upload(w http.ResponseWriter, r *http.Request) bool {
	if r.ContentLength > maxUpload {
		w.Header().Set("Connection", "close") // the rest is not waited for
		http.Error(w, "This photo is too large: at most "+strconv.Itoa(photo.MaxFile>>20)+" MB. Nothing was recorded.", http.StatusRequestEntityTooLarge)
		return false
	}
	r.Body = http.MaxBytesReader(w, r.Body, maxUpload)
	slow := http.NewResponseController(w) // a photo takes its time over a shed's Wi-Fi; where that cannot be granted, it must be quick
	until := time.Now().Add(uploadTime)
	_ = slow.SetReadDeadline(until)
	_ = slow.SetWriteDeadline(until.Add(uploadTime))
	status, text := s.parts(r)
	if status != 0 {
		http.Error(w, text+" Nothing was recorded.", status)
	}
	return status == 0
}

func (s *Server) parts(r *http.Request) (status int, text string) {
	in, err := r.MultipartReader()
	if err != nil {
		return http.StatusBadRequest, "This form cannot be read."
	}
	form, left := url.Values{}, int64(maxForm)
	var shot *Photo
	for {
		part, err := in.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return tooLong(err)
		}
		if part.FormName() == "photo" {
			if shot != nil {
				return http.StatusBadRequest, "One photo goes with a form."
			}
			if shot, err = readPhoto(part); err != nil {
				var no *photo.Refused
				if errors.As(err, &no) {
					return http.StatusUnprocessableEntity, "The photo was not taken: " + no.Why + ". Go back, and " + no.Next + "."
				}
				return tooLong(err)
			}
			continue
		}
		value, err := io.ReadAll(io.LimitReader(part, left+1))
		if err != nil {
			return tooLong(err)
		}
		if left -= int64(len(value) + len(part.FormName())); left < 0 || part.FileName() != "" {
			return http.StatusRequestEntityTooLarge, "This form cannot be read, or is too long."
		}
		form.Add(part.FormName(), string(value))
	}
	r.PostForm, r.Form = form, form
	if shot != nil {
		s.photos.put(photoKey(r, form.Get("once")), shot)
	}
	return 0, ""
}

func photoKey(r *http.Request, once string) string { return secret(r) + " " + once }

func tooLong(err error) (int, string) {
	var big *http.MaxBytesError
	if errors.As(err, &big) {
		return http.StatusRequestEntityTooLarge, "This photo is too large."
	}
	return http.StatusBadRequest, "This form cannot be read."
}

// readPhoto makes a photo fit to be kept; nil where none was chosen.
func readPhoto(part *multipart.Part) (*Photo, error) {
	in := &counting{r: part}
	var first [1]byte
	if n, err := io.ReadFull(in, first[:]); n == 0 && errors.Is(err, io.EOF) {
		return nil, nil
	} else if err != nil {
		return nil, err
	}
	p, err := photo.Read(io.MultiReader(strings.NewReader(string(first[:])), in))
	if err != nil {
		return nil, err
	}
	return &Photo{Name: part.FileName(), Paper: p, Was: in.n}, nil
}

type counting struct {
	r io.Reader
	n int64
}

func (c *counting) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n += int64(n)
	return n, err
}

// paper gives a photo or document of the book to a paired phone. Its type is one of two, whatever the entry says, and a document is kept, not opened.
func (s *Server) paper(w http.ResponseWriter, r *http.Request, v *visit) {
	data, kind, err := s.Shed.Paper(r.PathValue("digest"))
	if err != nil {
		s.trouble(w, v, err)
		return
	}
	h := w.Header()
	switch kind {
	case photo.JPEG:
		h.Set("Content-Type", photo.JPEG)
		h.Set("Content-Disposition", "inline")
	case photo.PDF:
		h.Set("Content-Type", photo.PDF)
		h.Set("Content-Disposition", `attachment; filename="paper.pdf"`)
	default:
		h.Set("Content-Type", "application/octet-stream")
		h.Set("Content-Disposition", `attachment; filename="paper"`)
	}
	h.Set("Content-Length", strconv.Itoa(len(data)))
	_, _ = w.Write(data)
}
