package schedule

import (
	"embed"
	"sort"
	"strings"
	"sync"
)

//go:embed builtin/*.toml
var builtinFiles embed.FS

//go:embed example.toml
var example string

// Example is an annotated schedule from which an author learns the grammar.
func Example() string { return example }

// Grammar is GRAMMAR.md: every key with its type, default and meaning.
//
//go:embed GRAMMAR.md
var Grammar string

var builtins = sync.OnceValue(func() []*Schedule {
	files, err := builtinFiles.ReadDir("builtin")
	if err != nil {
		panic(err)
	}
	var out []*Schedule
	for _, f := range files {
		text, err := builtinFiles.ReadFile("builtin/" + f.Name())
		if err != nil {
			panic(err)
		}
		s, err := Parse(f.Name(), text)
		if err != nil {
			panic("built-in schedule: " + err.Error()) // a test reads each, so no user meets this
		}
		out = append(out, s)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Name < out[j].Name })
	return out
})

// Builtins are the built-in schedules by name. Their figures are our own round ones of common practice.
func Builtins() []*Schedule { return append([]*Schedule(nil), builtins()...) }

// Builtin finds a built-in schedule.
func Builtin(name string) (*Schedule, bool) {
	for _, s := range builtins() {
		if s.Name == name {
			return s, true
		}
	}
	return nil, false
}

func splitHand(from string) (name, hand string) {
	name, hand, _ = strings.Cut(from, "/")
	return name, hand
}

func splitEvent(after string) (event, of string) {
	event, of, _ = strings.Cut(after, ":")
	return event, of
}
