package phone

import (
	"bytes"
	"embed"
	"errors"
	"html/template"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strings"
)

//go:embed pages/*.tmpl pages/style.css pages/round.js
var files embed.FS

var pages = template.Must(template.New("").ParseFS(files, "pages/*.tmpl"))

// Server answers phones. It is an http.Handler.
type Server struct {
	Config
	mux    *http.ServeMux
	hands  *hands
	pair   *pairing
	photos photos
	style  []byte
}

// New makes a server; the phones paired before with the book in c.Folder are known to it.
func New(c Config) (*Server, error) {
	h, err := loadHands(c.Folder)
	if err != nil {
		return nil, err
	}
	s := &Server{Config: c, hands: h, pair: &pairing{now: c.Now, random: c.Random}, mux: http.NewServeMux()}
	if s.style, err = files.ReadFile("pages/style.css"); err != nil {
		return nil, err
	}
	s.mux.HandleFunc("GET /style.css", func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/css; charset=utf-8")
		_, _ = w.Write(s.style)
	})
	s.mux.HandleFunc("GET /favicon.ico", func(w http.ResponseWriter, r *http.Request) { w.WriteHeader(http.StatusNoContent) }) // every browser asks
	script, err := files.ReadFile("pages/round.js")
	if err != nil {
		return nil, err
	}
	s.mux.HandleFunc("GET /round.js", func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
		_, _ = w.Write(script)
	})
	s.mux.HandleFunc("GET /pair/{token}", s.invited)
	s.mux.HandleFunc("POST /pair", s.asks)
	s.mux.HandleFunc("GET /waiting", s.waiting)
	for pattern, fn := range map[string]func(http.ResponseWriter, *http.Request, *visit){
		"GET /{$}":                                  s.today,
		"GET /machines":                             s.machines,
		"GET /m/{machine}":                          s.machine,
		"GET /m/{machine}/past":                     s.past,
		"GET /m/{machine}/job/{job}":                s.job,
		"GET /m/{machine}/record/{act}":             s.form,
		"GET /m/{machine}/strike/{id}":              s.strike,
		"GET /m/{machine}/correct/{id}":             s.correction,
		"GET /seasons":                              s.seasons,
		"GET /m/{machine}/measure/{reading}":        s.round,
		"POST /m/{machine}/measure/{reading}":       s.keep,
		"GET /m/{machine}/measure/{reading}/review": s.review,
		"POST /m/{machine}/measure/{reading}/sign":  s.sign,
		"POST /record":                              s.record,
		"GET /paper/{digest}":                       s.paper,
		"GET /recorded/{once}":                      s.recorded,
	} {
		s.mux.HandleFunc(pattern, s.page(fn))
	}
	s.looks()
	return s, nil
}

// visit is one page of one phone.
type visit struct {
	Title   string
	Hand    Hand
	Token   string // of its forms
	Once    string // key of its form
	Problem error  // why what was sent was not recorded
	Data    any
	To      string // where to go once the phone is paired
	Here    string // which of the tabs: today, machines
	Old     url.Values
	Book    string
	Laptop  string
}

// Val is what was typed into a field before, or what stands in it at first.
func (v *visit) Val(name, first string) string {
	if v.Old == nil {
		return first
	}
	return v.Old.Get(name)
}

// Is reports whether a box was ticked before, or is at first.
func (v *visit) Is(name, value string, first bool) bool {
	if v.Old == nil {
		return first
	}
	return slices.Contains(v.Old[name], value)
}

// Sure are the questions that are answered with yes when the form is sent again.
func (v *visit) Sure() []string { return v.Old["sure"] }

// Looks reports that the page holds one of paper, which has a style sheet of its own.
func (v *visit) Looks() bool {
	l, ok := v.Data.(*Look)
	return ok && l.Body != ""
}

// Next is what to do about the problem.
func (v *visit) Next() string {
	var r *Refused
	if errors.As(v.Problem, &r) {
		return r.Next
	}
	return ""
}

// show writes a page, whole or not at all.
func (s *Server) show(w http.ResponseWriter, status int, name string, v *visit) {
	v.Book, v.Laptop = s.Shed.Title(), s.Laptop
	var b bytes.Buffer
	if err := pages.ExecuteTemplate(&b, name, v); err != nil {
		http.Error(w, "This page cannot be shown.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(b.Bytes())
}

// trouble shows an error in place of a page.
func (s *Server) trouble(w http.ResponseWriter, v *visit, err error) {
	status := http.StatusInternalServerError
	var r *Refused
	switch {
	case errors.Is(err, ErrNone):
		status = http.StatusNotFound
	case errors.As(err, &r):
		status = http.StatusUnprocessableEntity
	}
	v.Title, v.Problem = "That did not work", err
	s.show(w, status, "problem", v)
}

// read shows a page of what the book holds.
func (s *Server) read(w http.ResponseWriter, v *visit, name, title string, data any, err error) {
	if err != nil {
		s.trouble(w, v, err)
		return
	}
	v.Title, v.Data = title, data
	s.show(w, http.StatusOK, name, v)
}

func (s *Server) today(w http.ResponseWriter, r *http.Request, v *visit) {
	yard := s.Yard
	if q := r.URL.Query(); q.Has("yard") {
		yard = q.Get("yard")
	}
	v.Here = "today"
	d, err := s.Shed.Today(yard)
	s.read(w, v, "today", "Today", d, err)
}

func (s *Server) machines(w http.ResponseWriter, r *http.Request, v *visit) {
	v.Here = "machines"
	d, err := s.Shed.Machines()
	s.read(w, v, "machines", "Machines", d, err)
}

func (s *Server) machine(w http.ResponseWriter, r *http.Request, v *visit) {
	d, err := s.Shed.Machine(r.PathValue("machine"))
	s.read(w, v, "machine", r.PathValue("machine"), d, err)
}

func (s *Server) past(w http.ResponseWriter, r *http.Request, v *visit) {
	d, err := s.Shed.Past(r.PathValue("machine"))
	s.read(w, v, "past", r.PathValue("machine")+": what was recorded", d, err)
}

// record takes a form. What it says is recorded, asked about, or said to be wrong on the form itself with all that was typed.
func (s *Server) record(w http.ResponseWriter, r *http.Request, v *visit) {
	f := r.PostForm
	v.Once = f.Get("once")
	a, err := actOf(f)
	a.Photo = s.photos.get(photoKey(r, a.Once))
	if err == nil && !f.Has("change") {
		_, err = s.Shed.Record(v.Hand, a, f["sure"])
		if err == nil {
			s.photos.drop(photoKey(r, a.Once))
			http.Redirect(w, r, "/recorded/"+url.PathEscape(a.Once), http.StatusSeeOther)
			return
		}
	}
	var odd *Ask
	if errors.As(err, &odd) {
		v.Title = "Is that right?"
		v.Data = struct {
			Question string
			Fields   []field
			Sure     []string
		}{odd.Question, fieldsOf(f), append(slices.Clone(f["sure"]), odd.Question)}
		s.show(w, http.StatusUnprocessableEntity, "odd", v)
		return
	}
	var refused *Refused
	if err != nil && !errors.As(err, &refused) {
		s.trouble(w, v, err)
		return
	}
	v.Old, v.Problem = f, err
	switch a.Kind {
	case "did":
		d, err := s.Shed.Job(a.Machine, a.What)
		s.ask(w, v, "job", "", d, err)
	case "strike":
		s.trouble(w, v, v.Problem)
	case "correct":
		d, err := s.Shed.Correction(v.Hand, a.Machine, a.Entry)
		s.ask(w, v, "correct", "", d, err)
	case "season":
		d, err := s.Shed.Seasons()
		s.ask(w, v, "seasons", "", d, err)
	default:
		d, err := s.Shed.Form(a.Machine, a.Kind, a.What)
		s.ask(w, v, "form", "", d, err)
	}
}

// field is one of a form that is sent again.
type field struct{ Name, Value string }

func fieldsOf(f url.Values) []field {
	var out []field
	for name, values := range f {
		if name == "token" || name == "sure" || name == "change" {
			continue
		}
		for _, x := range values {
			out = append(out, field{name, x})
		}
	}
	slices.SortStableFunc(out, func(a, b field) int { return strings.Compare(a.Name, b.Name) })
	return out
}

func (s *Server) recorded(w http.ResponseWriter, r *http.Request, v *visit) {
	d, err := s.Shed.Recorded(v.Hand, r.PathValue("once"))
	if err == nil && d == nil {
		err = ErrNone
	}
	s.read(w, v, "recorded", "Recorded", d, err)
}

// invited greets a phone that came by a token.
func (s *Server) invited(w http.ResponseWriter, r *http.Request) {
	v := &visit{Title: "Pair this phone", To: goesTo(r.URL.Query().Get("to"))}
	if _, ok := s.hands.find(secret(r)); ok && v.To != "/" { // paired already: the invitation stays good for another
		http.Redirect(w, r, v.To, http.StatusSeeOther)
		return
	}
	if !s.pair.good(r.PathValue("token")) {
		v.Problem = errUsed
		s.show(w, http.StatusGone, "problem", v)
		return
	}
	s.greet(w, v, r.PathValue("token"), http.StatusOK)
}

func (s *Server) greet(w http.ResponseWriter, v *visit, token string, status int) {
	people, err := s.Shed.People()
	if err != nil {
		s.trouble(w, v, err)
		return
	}
	v.Data = struct {
		Token  string
		People []Person
		Name   string
	}{token, people, s.hands.free()}
	s.show(w, status, "pair", v)
}

// asks lets a phone wait for its number to be typed at the laptop.
func (s *Server) asks(w http.ResponseWriter, r *http.Request) {
	f := r.PostForm
	v := &visit{Title: "Pair this phone", Old: f, To: goesTo(f.Get("to"))}
	people, err := s.Shed.People()
	if err != nil {
		s.trouble(w, v, err)
		return
	}
	name, err := phoneName(f.Get("phone"))
	i := slices.IndexFunc(people, func(p Person) bool { return p.ID == f.Get("person") })
	switch {
	case !s.pair.good(f.Get("invitation")):
		v.Problem = errUsed
		s.show(w, http.StatusGone, "problem", v)
		return
	case i < 0:
		v.Problem = &Refused{Text: "Say who you are."}
	case err != nil:
		v.Problem = err
	case slices.ContainsFunc(s.hands.list(), func(h Hand) bool { return strings.EqualFold(h.Phone, name) }):
		v.Problem = &Refused{Text: "Another phone is called that already: choose another name."}
	}
	if v.Problem != nil {
		s.greet(w, v, f.Get("invitation"), http.StatusUnprocessableEntity)
		return
	}
	key, _, err := s.pair.begin(f.Get("invitation"), people[i], name)
	if err != nil {
		s.trouble(w, v, err)
		return
	}
	http.SetCookie(w, &http.Cookie{Name: cookieName, Value: key, Path: "/", MaxAge: 400 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteStrictMode})
	if s.Asking != nil {
		s.Asking(Waiting{people[i].Name, name})
	}
	http.Redirect(w, r, "/waiting"+query(v.To), http.StatusSeeOther)
}

// waiting shows the number; once it was typed at the laptop, the page goes on by itself.
func (s *Server) waiting(w http.ResponseWriter, r *http.Request) {
	key, to := secret(r), goesTo(r.URL.Query().Get("to"))
	if _, ok := s.hands.find(key); ok {
		http.Redirect(w, r, to, http.StatusSeeOther)
		return
	}
	number, ok := s.pair.number(key)
	if !ok {
		s.show(w, http.StatusUnauthorized, "stranger", &visit{Title: "Not paired"})
		return
	}
	s.show(w, http.StatusOK, "waiting", &visit{Title: "Type this number at the laptop", Data: number, To: to})
}

// goesTo is a page of a machine that a phone is led to once it is paired; whatever else is asked for leads to today.
func goesTo(to string) string {
	u, err := url.Parse(to)
	if err != nil || u.IsAbs() || u.Host != "" || u.RawQuery != "" || !strings.HasPrefix(u.Path, "/m/") || path.Clean(u.Path) != u.Path || strings.ContainsAny(to, "\\\r\n") {
		return "/"
	}
	return u.EscapedPath()
}

// query keeps where to go in an address.
func query(to string) string {
	if to == "/" {
		return ""
	}
	return "?to=" + strings.ReplaceAll(url.QueryEscape(to), "%2F", "/") // slashes may stand there (RFC 3986, 3.4), and the square stays small
}
