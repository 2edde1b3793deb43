package main

import (
	"encoding/json"
	"reflect"
	"strings"
)

// jsonOf is what commands print with --json, by name; every other command that records prints a replyJSON. From format 1 on members may be added, none may
// go or change its meaning.
var jsonOf = map[string][]any{
	"new": {newJSON{}}, "demo": {dueJSON{}}, "people list": {peopleJSON{}}, "people key": {keyJSON{}}, "people recovery": {recoveryJSON{}}, "join": {joinedJSON{}}, "sync": {syncedJSON{}, placesJSON{}}, "audit": {auditJSON{}, evidenceJSON{}}, "export": {evidenceJSON{}, sheetJSON{}}, "calendar": {calendarJSON{}}, "stamp": {stampJSON{}, stampsJSON{}}, "machine list": {machinesJSON{}}, "schedule list": {schedulesJSON{}},
	"schedule show": {scheduleTextJSON{}}, "schedule check": {checksJSON{}}, "shelf list": {stocksJSON{}}, "due": {dueJSON{}}, "show": {booksJSON{}, wholeJSON{}}, "history": {historiesJSON{}}, "spec": {specJSON{}}, "prepare": {preparedJSON{}}, "compare": {comparedJSON{}, pageJSON{}}, "wear": {wearsJSON{}},
	"salefile": {saleJSON{}}, "jobcard": {pageJSON{}}, "phone": {phoneJSON{}},
	"life": {lifeJSON{}}, "import csv": {importedJSON{}}, "import fleet": {importedJSON{}}, "import tasks": {importedJSON{}},
	"cost": {costsJSON{}, classesJSON{}}, "completion": {completionJSON{}},
	"paper": {papersJSON{}},
}

// shapes are the forms of what a command prints with --json, as its help says them.
func (cmd *command) shapes() []string {
	all, ok := jsonOf[cmd.name]
	if !ok {
		all = []any{replyJSON{}}
	}
	var out []string
	for _, v := range all {
		out = append(out, shape(reflect.TypeOf(v)))
	}
	return out
}

// shape tells the members of a JSON value: "{format, on, items: [{id, due: {date?, value?}}]}"; one with "?" is absent where it does not apply, "..." is
// told elsewhere.
func shape(t reflect.Type) string {
	switch t {
	case reflect.TypeFor[amountJSON]():
		return "{value, unit?}"
	case reflect.TypeFor[valueJSON]():
		return "{value?, unit?, word?}"
	case reflect.TypeFor[json.RawMessage](), reflect.TypeFor[any]():
		return "{...}"
	}
	switch t.Kind() {
	case reflect.Pointer:
		return shape(t.Elem())
	case reflect.Slice:
		return "[" + shape(t.Elem()) + "]"
	case reflect.Struct:
	default:
		return ""
	}
	var out []string
	for i := range t.NumField() {
		name, options, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		if name == "" {
			continue
		}
		if strings.HasPrefix(options, "omit") {
			name += "?"
		}
		if s := shape(t.Field(i).Type); s != "" {
			name += ": " + s
		}
		out = append(out, name)
	}
	return "{" + strings.Join(out, ", ") + "}"
}
