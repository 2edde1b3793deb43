package main

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// item is a due item of opener n, told by what a test sets.
func item(t *testing.T, n string, set func(*rules.Item)) dueItem {
	i := dueItem{Item: rules.Item{Machine: "m", Name: "drill", Job: "drag-check", State: rules.Overdue, Severity: "soon", Cause: rules.ByInterval, Positions: placesOf(t, "opener/"+n)},
		describe: func(p record.Positions) string { return strings.Join(p.Strings(), " ") }}
	i.Where = i.describe(i.Positions)
	set(&i.Item)
	return i
}

func over(amount string) func(*rules.Item) {
	return func(i *rules.Item) {
		i.Over.Value = quantity.MustParse(amount)
		if !strings.HasSuffix(amount, " d") {
			i.Over.Counter = "area"
		}
	}
}

func since(brief, days string) func(*rules.Item) {
	return func(i *rules.Item) {
		i.Cause, i.Brief = rules.ByFollowOn, brief
		over(days)(i)
	}
}

func limit(found, bound string) func(*rules.Item) {
	return func(i *rules.Item) {
		v := record.Word(found) // a grade
		if bound != "" {
			v = valueOf(found)
			i.Bound = schedule.Bound{What: "limit", At: quantity.MustParse(bound)}
		}
		i.Cause, i.Found = rules.ByLimit, []record.Value{v}
	}
}

func also(all ...func(*rules.Item)) func(*rules.Item) {
	return func(i *rules.Item) {
		for _, set := range all {
			set(i)
		}
	}
}

// What shares a line and what it says, each worked out from the amounts given.
func TestOnOneLine(t *testing.T) {
	fault := func(words string) func(*rules.Item) {
		return func(i *rules.Item) {
			i.Job, i.State, i.Cause, i.Title, i.Brief = "", rules.Open, rules.ByFault, words, words
		}
	}
	coming := func(i *rules.Item) { i.State = rules.Coming }
	for _, test := range []struct {
		name  string
		units quantity.System
		items []dueItem
		want  []string
	}{
		{"days of several swaps", quantity.US, []dueItem{item(t, "1", since("since the disc of 2026-02-21", "12 d")), item(t, "2", since("since the disc of 2025-06-24", "254 d")), item(t, "3", since("since the disc of 2026-01-01", "63 d"))},
			[]string{"drag-check | opener/1-3 | overdue by 12 to 254 d"}},
		{"one swap", quantity.US, []dueItem{item(t, "1", since("since the disc of 2026-02-21", "12 d"))}, []string{"drag-check | opener/1 | since the disc of 2026-02-21"}},
		{"readings past one limit", quantity.US, []dueItem{item(t, "1", limit("4.9 in", "5 in")), item(t, "4", limit("4.75 in", "5 in"))}, []string{"drag-check | opener/1 opener/4 | 4.75 to 4.9 in, limit 5 in"}},
		{"readings past two limits", quantity.US, []dueItem{item(t, "1", limit("4.9 in", "5 in")), item(t, "4", limit("4.75 in", "4.8 in"))},
			[]string{"drag-check | opener/1 | 4.9 in, limit 5 in", "drag-check | opener/4 | 4.75 in, limit 4.8 in"}},
		{"readings in other units", quantity.Metric, []dueItem{item(t, "1", limit("4.9 in", "5 in"))}, []string{"drag-check | opener/1 | 124.5 mm, limit 127 mm"}}, // 25.4 mm each: 124.46, shown with as many figures as steps of 0.1 in have
		{"grades", quantity.US, []dueItem{item(t, "1", limit("loose", "")), item(t, "4", limit("rough", ""))}, []string{"drag-check | opener/1 opener/4 | loose, rough"}},
		{"acres, rounded as they are read", quantity.US, []dueItem{item(t, "1", over("37.57 ac")), item(t, "2", over("333.4 ac"))}, []string{"drag-check | opener/1-2 | overdue by 37.6 to 333 ac"}},
		{"less than a tenth", quantity.US, []dueItem{item(t, "1", over("0.02 ac"))}, []string{"drag-check | opener/1 | overdue by 0.02 ac"}},
		{"acres and days stand apart", quantity.US, []dueItem{item(t, "1", over("12 ac")), item(t, "2", over("12 d"))}, []string{"drag-check | opener/1 | overdue by 12 ac", "drag-check | opener/2 | overdue by 12 d"}},
		{"estimated", quantity.US, []dueItem{item(t, "1", also(over("8 ac"), func(i *rules.Item) { i.Over.Estimated = true }))}, []string{"drag-check | opener/1 | overdue by about 8 ac"}},
		{"coming by a date", quantity.US, []dueItem{item(t, "1", also(over("-7 d"), coming, func(i *rules.Item) { i.Due.Date = "2026-04-01" }))}, []string{"drag-check | opener/1 | in 7 d, on 2026-04-01"}},
		{"coming by a counter", quantity.US, []dueItem{item(t, "1", also(over("-67 ac"), coming, func(i *rules.Item) { i.Expected = "2026-10-14" }))}, []string{"drag-check | opener/1 | in 67 ac, about 2026-10-14"}},
		{"due today", quantity.US, []dueItem{item(t, "1", also(over("0 d"), func(i *rules.Item) { i.State = rules.DueNow }))}, []string{"drag-check | opener/1 | today"}},
		{"due at the very count", quantity.US, []dueItem{item(t, "1", also(over("0 ac"), func(i *rules.Item) { i.State = rules.DueNow }))}, []string{"drag-check | opener/1 | now"}},
		{"faults stand apart", quantity.US, []dueItem{item(t, "1", fault("hub rough")), item(t, "2", fault("hub rough"))}, []string{"fault | opener/1 | hub rough", "fault | opener/2 | hub rough"}},
		{"states stand apart", quantity.US, []dueItem{item(t, "1", over("1 ac")), item(t, "2", also(over("-1 ac"), coming))}, []string{"drag-check | opener/1 | overdue by 1 ac", "drag-check | opener/2 | in 1 ac"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			c := &call{common: &common{}, system: test.units}
			var got []string
			for _, r := range onOneLine(test.items, false) {
				got = append(got, r.word()+" | "+r.Where+" | "+r.stands(c))
			}
			if diff := cmp.Diff(test.want, got); diff != "" {
				t.Errorf("-want +got\n%s", diff)
			}
			if apart := onOneLine(test.items, true); len(apart) != len(test.items) {
				t.Errorf("%d lines where each is asked for, of %d items", len(apart), len(test.items))
			}
		})
	}
}

func TestSection(t *testing.T) {
	for _, test := range []struct{ state, severity, want string }{
		{rules.Overdue, "stop", "do not run until done"}, {rules.Open, "stop", "do not run until done"}, {rules.Coming, "stop", "coming, not to be run past it"},
		{rules.Overdue, "soon", "overdue"}, {rules.DueNow, "soon", "due now"}, {rules.Overdue, "winter", "overdue, winter work"}, {rules.Open, "tidy", "open, to tidy up"}, {rules.Unknown, "soon", "not known"},
	} {
		i := dueItem{Item: rules.Item{State: test.state, Severity: test.severity}}
		if got := i.section(); got != test.want {
			t.Errorf("%s, %s: %q, want %q", test.state, test.severity, got, test.want)
		}
	}
}
