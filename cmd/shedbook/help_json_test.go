package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// What programs read stays what it was: of format 1 no member may go, change its place or begin to be absent. Members may be added, here too.
func TestShapesStay(t *testing.T) {
	file := filepath.Join("..", "..", "testdata", "json.txt")
	var got strings.Builder
	for _, build := range commands {
		cmd := build()
		for _, s := range cmd.shapes() {
			fmt.Fprintf(&got, "%s: %s\n", cmd.name, s)
		}
	}
	if os.Getenv("SHEDBOOK_TEST_UPDATE") != "" {
		if err := os.WriteFile(file, []byte(got.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got.String()); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
	for name := range jsonOf {
		if !slices.ContainsFunc(commands, func(build func() *command) bool { return build().name == name }) {
			t.Errorf("there is no command %q", name)
		}
	}
}

// Law: what a command prints with --json has the form its help tells.
func TestJSONHasTheFormItsHelpTells(t *testing.T) {
	b, _ := season2026(t)
	lines := append(slices.Clone(reads), "shelf list", "people key", "schedule check "+filepath.Join("..", "..", "rules", "schedule", "example.toml"),
		"farm add Creekside", "yard add creek --farm Creekside", "people add Sam", "counter drill 1160", "did drill grease --dry-run", "schedule use disc-drill",
		"new "+filepath.Join(t.TempDir(), "other")+" --me Pim", "new "+filepath.Join(t.TempDir(), "none")+" --me Pim --dry-run")
	for _, line := range lines {
		args := strings.Fields(line)
		if args[0] == "schedule" && args[1] == "check" {
			args[2], _ = filepath.Abs(args[2])
		}
		text := b.must(append(args, "--json")...)
		var v any
		if err := json.Unmarshal([]byte(text), &v); err != nil {
			t.Errorf("%s: %v\n%s", line, err, text)
			continue
		}
		cmd, _, err := find(args)
		if err != nil {
			t.Fatal(err)
		}
		all, ok := jsonOf[cmd.name]
		if !ok {
			all = []any{replyJSON{}}
		}
		var wrong []string
		for _, a := range all {
			wrong = append(wrong, misfit(v, reflect.TypeOf(a), ""))
		}
		if !slices.Contains(wrong, "") {
			t.Errorf("%s: %q", line, wrong)
		}
	}
}

// misfit is the first place where a value has not the form of a type; "" where it has.
func misfit(v any, typ reflect.Type, at string) string {
	form := shape(typ)
	switch {
	case form == "" || form == "{...}":
		return ""
	case typ.Kind() == reflect.Pointer:
		return misfit(v, typ.Elem(), at)
	case typ.Kind() == reflect.Slice:
		list, ok := v.([]any)
		if !ok {
			return fmt.Sprintf("%s is %v, no list", at, v)
		}
		for i, x := range list {
			if s := misfit(x, typ.Elem(), fmt.Sprintf("%s[%d]", at, i)); s != "" {
				return s
			}
		}
		return ""
	}
	object, ok := v.(map[string]any)
	if !ok {
		return fmt.Sprintf("%s is %v, no object", at, v)
	}
	known := map[string]bool{}
	if form == "{value, unit?}" || form == "{value?, unit?, word?}" {
		known["value"], known["unit"], known["word"] = true, true, true
	}
	for i := range typ.NumField() {
		name, options, _ := strings.Cut(typ.Field(i).Tag.Get("json"), ",")
		if name == "" {
			continue
		}
		known[name] = true
		x, ok := object[name]
		if !ok {
			if options == "" {
				return at + " has no " + name
			}
			continue
		}
		if s := misfit(x, typ.Field(i).Type, at+"."+name); s != "" {
			return s
		}
	}
	for name := range object {
		if !known[name] {
			return at + " has " + name
		}
	}
	return ""
}
