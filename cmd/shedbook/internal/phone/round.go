package phone

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"
)

// round shows the places in walking order, with what is kept already.
func (s *Server) round(w http.ResponseWriter, r *http.Request, v *visit) {
	d, err := s.Shed.Round(v.Hand, r.PathValue("machine"), r.PathValue("reading"))
	s.showRound(w, v, d, err)
}

func (s *Server) showRound(w http.ResponseWriter, v *visit, d *Round, err error) {
	if err != nil {
		s.trouble(w, v, err)
		return
	}
	w.Header().Set("Content-Security-Policy", policyOfRound)
	v.Title, v.Data = d.Machine+": "+d.Title, d
	status := http.StatusOK
	if v.Problem != nil {
		status = http.StatusUnprocessableEntity
	}
	s.show(w, status, "round", v)
}

// keptJSON is what the page's script is told of what it sent.
type keptJSON struct {
	Said int                 `json:"said"`
	All  int                 `json:"all"`
	Told map[string]toldJSON `json:"told"` // of the fields sent
}

type toldJSON struct {
	Odd   string `json:"odd,omitempty"`
	Wrong string `json:"wrong,omitempty"`
}

// keep puts what stands in the fields on the disk, as often as the page is sent: the same once more changes nothing.
func (s *Server) keep(w http.ResponseWriter, r *http.Request, v *visit) {
	f := r.PostForm
	typed := typedOf(f)
	d, err := s.Shed.Keep(v.Hand, r.PathValue("machine"), r.PathValue("reading"), typed)
	if r.Header.Get("Accept") == "application/json" {
		s.told(w, d, typed, err)
		return
	}
	if err != nil {
		s.trouble(w, v, err)
		return
	}
	wrong := slices.ContainsFunc(d.Stretches, func(x Stretch) bool {
		return slices.ContainsFunc(x.Asked, func(a Asked) bool { return a.Wrong != "" })
	})
	here := "/m/" + url.PathEscape(d.Machine) + "/measure/" + url.PathEscape(d.Reading)
	switch {
	case wrong:
		v.Old, v.Problem = f, &Refused{Text: "Some values cannot be read: they are marked.", Next: "The others are kept."}
		s.showRound(w, v, d, nil)
	case f.Get("go") == "review" && d.Odd == 0 && d.Said > 0:
		http.Redirect(w, r, here+"/review", http.StatusSeeOther)
	default:
		http.Redirect(w, r, here, http.StatusSeeOther)
	}
}

func (s *Server) told(w http.ResponseWriter, d *Round, typed map[string]Typed, err error) {
	w.Header().Set("Content-Type", "application/json")
	if err != nil {
		w.WriteHeader(http.StatusUnprocessableEntity)
		_ = json.NewEncoder(w).Encode(map[string]string{"error": err.Error()})
		return
	}
	out := keptJSON{Said: d.Said, All: d.All, Told: map[string]toldJSON{}}
	for _, x := range d.Stretches {
		for _, a := range x.Asked {
			if _, ok := typed[a.Key]; ok {
				out.Told[a.Key] = toldJSON{a.Odd, a.Wrong}
			}
		}
	}
	_ = json.NewEncoder(w).Encode(out)
}

// typedOf reads the fields of a round.
func typedOf(f url.Values) map[string]Typed {
	out := map[string]Typed{}
	for name := range f {
		key, ok := strings.CutPrefix(name, "v.")
		if !ok {
			continue
		}
		out[key] = Typed{Value: f.Get(name), Cannot: f.Get("c."+key) != "", Sure: f.Get("s."+key) != "", Cleared: f.Get("h."+key) != ""}
	}
	return out
}

// review shows what was kept before it is signed, once.
func (s *Server) review(w http.ResponseWriter, r *http.Request, v *visit) {
	d, err := s.Shed.Round(v.Hand, r.PathValue("machine"), r.PathValue("reading"))
	if err == nil && (d.Odd > 0 || d.Said == 0) {
		http.Redirect(w, r, "/m/"+url.PathEscape(d.Machine)+"/measure/"+url.PathEscape(d.Reading), http.StatusSeeOther)
		return
	}
	s.ask(w, v, "review", "Review and sign", d, err)
}

func (s *Server) sign(w http.ResponseWriter, r *http.Request, v *visit) {
	f := r.PostForm
	v.Once = f.Get("once")
	a := Act{Kind: "measure", Machine: r.PathValue("machine"), What: r.PathValue("reading"), Once: v.Once}
	for _, name := range named(f, "counter.") {
		if x := strings.TrimSpace(f.Get("counter." + name)); x != "" {
			a.Flags = append(a.Flags, "--counter="+name+"="+x)
		}
	}
	for _, name := range named(f, "at.") {
		if x := strings.TrimSpace(f.Get("at." + name)); x != "" {
			a.Flags = append(a.Flags, "--at="+name+"="+x)
		}
	}
	for _, name := range []string{"with", "note"} {
		if x := strings.TrimSpace(f.Get(name)); x != "" {
			a.Flags = append(a.Flags, "--"+name+"="+x)
		}
	}
	var err error
	if v.Once == "" || len(v.Once) > 64 {
		err = &Refused{Text: "This form has no key.", Next: "Load the page again and send it once more."}
	} else {
		_, err = s.Shed.Sign(v.Hand, a, f["sure"])
	}
	if err == nil {
		http.Redirect(w, r, "/recorded/"+url.PathEscape(a.Once), http.StatusSeeOther)
		return
	}
	var odd *Ask
	var refused *Refused
	switch {
	case errors.As(err, &odd):
		v.Problem, v.Old = &Refused{Text: odd.Question, Next: "If it is right all the same, sign once more."}, f
		v.Old["sure"] = append(slices.Clone(f["sure"]), odd.Question)
	case errors.As(err, &refused):
		v.Problem, v.Old = err, f
	default:
		s.trouble(w, v, err)
		return
	}
	d, err := s.Shed.Round(v.Hand, a.Machine, a.What)
	s.ask(w, v, "review", "Review and sign", d, err)
}
