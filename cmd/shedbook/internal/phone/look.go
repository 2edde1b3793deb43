package phone

import (
	"html/template"
	"net/http"
)

// Look is something to look at and not to fill in: pages of paper, laid out and escaped by who made them, facts, or text in columns.
type Look struct {
	Machine, Title string
	About          string
	Asks           string        // label of the field for words; "" there is none
	Asked          string        // what stands in it
	Hint           string        // how to write it
	Seasons        []string      // to choose two of
	One, Other     string        // those chosen
	Body           template.HTML // escaped
	Facts          []Fact
	Lines          string // as the terminal has it
	Past           []Entry
	More           bool // there are older ones
}

// looks are the pages to look at, by the end of their address. A form of theirs asks by the address alone: nothing is changed by it.
func (s *Server) looks() {
	s.mux.HandleFunc("GET /look.css", func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "text/css; charset=utf-8")
		_, _ = w.Write(s.Shed.Style())
	})
	for end, ask := range map[string]func(r *http.Request) (*Look, error){
		"wear": func(r *http.Request) (*Look, error) { return s.Shed.Wear(r.PathValue("machine")) },
		"compare": func(r *http.Request) (*Look, error) {
			return s.Shed.Compare(r.PathValue("machine"), r.FormValue("one"), r.FormValue("other"))
		},
		"spec": func(r *http.Request) (*Look, error) {
			return s.Shed.Spec(r.PathValue("machine"), r.FormValue("words"))
		},
		"show": func(r *http.Request) (*Look, error) {
			return s.Shed.Show(r.PathValue("machine"), r.FormValue("words"))
		},
	} {
		s.mux.HandleFunc("GET /m/{machine}/"+end, s.page(func(w http.ResponseWriter, r *http.Request, v *visit) {
			d, err := ask(r)
			if d == nil {
				d = &Look{}
			}
			s.read(w, v, "look", d.Title, d, err)
		}))
	}
}
