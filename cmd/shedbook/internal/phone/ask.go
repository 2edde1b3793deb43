package phone

import "net/http"

func (s *Server) strike(w http.ResponseWriter, r *http.Request, v *visit) {
	d, err := s.Shed.Past(r.PathValue("machine"))
	if err == nil {
		for i := range d.Entries {
			if e := &d.Entries[i]; e.ID == r.PathValue("id") && e.Person == v.Hand.Person && !e.Struck {
				s.ask(w, v, "strike", "Take back an entry", struct {
					Machine string
					Entry   *Entry
				}{d.Machine, e}, nil)
				return
			}
		}
		err = &Refused{Text: "That entry is not yours to take back, or is taken back already.", Next: "Whoever keeps the book can, at the laptop."}
	}
	s.trouble(w, v, err)
}

func (s *Server) job(w http.ResponseWriter, r *http.Request, v *visit) {
	d, err := s.Shed.Job(r.PathValue("machine"), r.PathValue("job"))
	s.ask(w, v, "job", "", d, err)
}

func (s *Server) form(w http.ResponseWriter, r *http.Request, v *visit) {
	q := r.URL.Query()
	if q.Has("closes") { // what a link says beforehand: the fault that a repair puts right
		v.Old = q
	}
	d, err := s.Shed.Form(r.PathValue("machine"), r.PathValue("act"), q.Get("what"))
	s.ask(w, v, "form", "", d, err)
}

func (s *Server) correction(w http.ResponseWriter, r *http.Request, v *visit) {
	d, err := s.Shed.Correction(v.Hand, r.PathValue("machine"), r.PathValue("id"))
	s.ask(w, v, "correct", "", d, err)
}

func (s *Server) seasons(w http.ResponseWriter, r *http.Request, v *visit) {
	v.Here = "seasons"
	if q := r.URL.Query(); len(q) > 0 {
		v.Old = q
	}
	d, err := s.Shed.Seasons()
	s.ask(w, v, "seasons", "", d, err)
}

// ask shows a page with a form on it: anew, or as it was sent.
func (s *Server) ask(w http.ResponseWriter, v *visit, name, title string, data any, err error) {
	if err != nil {
		s.trouble(w, v, err)
		return
	}
	switch d := data.(type) {
	case *Job:
		title = d.Title
	case *Form:
		title = d.Title
	}
	if v.Once == "" {
		if v.Once, err = s.pair.draw(16); err != nil {
			s.trouble(w, v, err)
			return
		}
	}
	v.Title, v.Data = title, data
	status := http.StatusOK
	if v.Problem != nil {
		status = http.StatusUnprocessableEntity
	}
	s.show(w, status, name, v)
}
