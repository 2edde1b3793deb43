package record

import (
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

// TestFormatNamesEveryMember holds the "Records" section of ledger/FORMAT.md to the structs: each kind has a row, and each member of it, of the common part
// and of the private part stands in the section as `member`.
func TestFormatNamesEveryMember(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "ledger", "FORMAT.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, section, ok := strings.Cut(string(text), "\n## Records\n")
	if !ok {
		t.Fatal("FORMAT.md has no section Records")
	}
	section, _, _ = strings.Cut(section, "\n## ")
	intro, _, _ := strings.Cut(section, "| kind |")
	named := func(where, text, member string) {
		t.Helper()
		if !strings.Contains(text, "`"+member+"`") && !listed(text, member) {
			t.Errorf("FORMAT.md does not name %s of %s", member, where)
		}
	}
	for _, kind := range Kinds() {
		_, row, ok := strings.Cut(section, "\n| `"+kind+"` |")
		if !ok {
			t.Errorf("FORMAT.md has no row for %s", kind)
			continue
		}
		row, _, _ = strings.Cut(row, "\n")
		for _, m := range members(reflect.TypeOf(kinds[kind]()).Elem()) {
			named(kind, row, m)
		}
	}
	for _, m := range members(reflect.TypeFor[Work]()) {
		named("every work record", intro, m)
	}
	_, private, _ := strings.Cut(section, "The private object")
	for _, m := range members(reflect.TypeFor[Private]()) {
		named("the private part", private, m)
	}
}

// members are the JSON names of a struct's own fields and of the structs in its lists; the embedded common part is left out.
func members(typ reflect.Type) []string {
	var out []string
	for i := range typ.NumField() {
		f := typ.Field(i)
		if f.Anonymous {
			continue
		}
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		out = append(out, name)
		if (f.Type.Kind() == reflect.Slice || f.Type.Kind() == reflect.Pointer) && f.Type.Elem().Kind() == reflect.Struct {
			out = append(out, members(f.Type.Elem())...)
		}
	}
	return out
}

// listed reports whether a member stands in a braced list such as `{counter, at}`.
func listed(text, member string) bool {
	for rest := text; ; {
		_, after, ok := strings.Cut(rest, "`{")
		if !ok {
			return false
		}
		list, tail, _ := strings.Cut(after, "}`")
		for _, m := range strings.Split(list, ",") {
			if strings.TrimSpace(m) == member {
				return true
			}
		}
		rest = tail
	}
}
