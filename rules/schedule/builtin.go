package schedule

import (
	"embed"
	"maps"
	"slices"
	"sort"
	"strings"
	"sync"
)

//go:embed builtin/*.toml
var builtinFiles embed.FS

//go:embed example.toml
var example string

// parsed are texts read before, by name and text: whoever replays twice, as a command that records does, reads a text once.
var parsed struct {
	sync.Mutex
	schedules map[[2]string]*Schedule
}

// maxParsed is how many texts are kept; a farm has a few.
const maxParsed = 64

// ParseOnce is Parse for texts that are read again and again. The same text gives the same Schedule, which nobody changes; a text that cannot be read is
// tried anew.
func ParseOnce(file, text string) (*Schedule, error) {
	key := [2]string{file, text}
	parsed.Lock()
	s := parsed.schedules[key]
	parsed.Unlock()
	if s != nil {
		return s, nil
	}
	s, err := Parse(file, []byte(text))
	if err != nil {
		return nil, err
	}
	parsed.Lock()
	defer parsed.Unlock()
	if parsed.schedules == nil || len(parsed.schedules) >= maxParsed {
		parsed.schedules = map[[2]string]*Schedule{}
	}
	parsed.schedules[key] = s
	return s, nil
}

// Example is an annotated schedule from which an author learns the grammar.
func Example() string { return example }

// Grammar is GRAMMAR.md: every key with its type, default and meaning.
//
//go:embed GRAMMAR.md
var Grammar string

// builtins reads each file when it is first asked for: a day's command needs one or two.
var builtins = func() map[string]func() *Schedule {
	files, err := builtinFiles.ReadDir("builtin")
	if err != nil {
		panic(err)
	}
	out := map[string]func() *Schedule{}
	for _, f := range files {
		out[strings.TrimSuffix(f.Name(), ".toml")] = sync.OnceValue(func() *Schedule {
			text, err := builtinFiles.ReadFile("builtin/" + f.Name())
			if err != nil {
				panic(err)
			}
			s, err := Parse(f.Name(), text)
			if err != nil {
				panic("built-in schedule: " + err.Error()) // a test reads each, so no user meets this
			}
			return s
		})
	}
	return out
}()

// Builtins are the built-in schedules by name. Their figures are our own round ones of common practice.
func Builtins() []*Schedule {
	var out []*Schedule
	for _, read := range builtins {
		out = append(out, read())
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Name < out[j].Name })
	return out
}

// BuiltinNames are the names of the built-in schedules by the alphabet. None is read for it.
func BuiltinNames() []string { return slices.Sorted(maps.Keys(builtins)) }

// Builtin finds a built-in schedule; its file has its name.
func Builtin(name string) (*Schedule, bool) {
	if read, ok := builtins[name]; ok {
		return read(), true
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
