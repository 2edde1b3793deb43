package main

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/rules"
)

// cardOf is the card of one machine: the cautions of the whole card, and its tasks.
func cardOf(t *testing.T, tb *testBook, machine, before string) (shared []string, tasks []paper.Task, p *paper.Page) {
	t.Helper()
	c := tb.call()
	b, err := c.open()
	if err != nil {
		t.Fatal(err)
	}
	st, err := b.now()
	if err != nil {
		t.Fatal(err)
	}
	if p, err = c.cardPage(b, st, carding{machine: machine, before: before}); err != nil {
		t.Fatal(err)
	}
	for _, s := range p.Sections {
		for _, x := range s.Blocks {
			switch x := x.(type) {
			case paper.Notice:
				for _, l := range x.Lines {
					shared = append(shared, l.Words)
				}
			case paper.Task:
				tasks = append(tasks, x)
			}
		}
	}
	return shared, tasks, p
}

// Whatever the due list has stands on the card, in all its places and with all its cautions.
func TestCardHasAllThatIsDue(t *testing.T) {
	tb := demoBook(t)
	st := tb.state()
	items := 0
	for _, m := range st.Machines {
		shared, tasks, _ := cardOf(t, tb, m.Name, "")
		for _, it := range rules.Due(st, rules.Filter{Machine: m.ID, Within: soonDays}) {
			if it.State == rules.Unknown || it.State == rules.Later {
				continue
			}
			items++
			found := false
			for _, task := range tasks {
				if task.Title != it.Title || !hasPlaces(task, it) {
					continue
				}
				found = true
				for _, s := range it.Cautions {
					if !slices.Contains(shared, s) && !slices.Contains(task.Care, s) {
						t.Errorf("%s, %s: without its caution %q", m.Name, it.Title, s)
					}
				}
			}
			if !found {
				t.Errorf("%s: %s, %s (%s) is on no card", m.Name, it.Title, it.Where, it.State)
			}
		}
	}
	if items < 20 {
		t.Fatalf("the demo book has %d lines of work: too few to show anything", items)
	}
}

// hasPlaces reports that a task with boxes has one for each place of an item; one without tells its places in words.
func hasPlaces(task paper.Task, it rules.Item) bool {
	if len(task.Boxes) == 0 {
		return (task.Where == "") == it.Positions.IsZero()
	}
	labels := map[string]bool{}
	for _, row := range task.Boxes[0].Rows {
		for _, b := range row.Boxes {
			labels[strings.Fields(b.Label)[0]] = true
		}
	}
	for _, p := range it.Positions.All() {
		first, _, _ := strings.Cut(strings.TrimPrefix(p.String(), p.Noun+"/"), "-")
		if !labels[first] {
			return false
		}
	}
	return true
}

// The demo's drill has 48 openers in two ranks, the odd ones in front: one walks along the front from the left and comes back along the rear.
func TestBoxesInWalkingOrder(t *testing.T) {
	_, tasks, _ := cardOf(t, demoBook(t), "drill", "")
	sets := 0
	for _, task := range tasks {
		for _, set := range task.Boxes {
			var got []int
			for _, row := range set.Rows {
				for _, b := range row.Boxes {
					n, err := strconv.Atoi(strings.Fields(b.Label)[0])
					if err != nil {
						t.Fatalf("%s: box %q", task.Title, b.Label)
					}
					got = append(got, n)
				}
			}
			want := slices.Clone(got)
			slices.SortFunc(want, func(a, b int) int { return walked(a) - walked(b) })
			if !slices.Equal(got, want) {
				t.Errorf("%s: boxes %v, walked %v", task.Title, got, want)
			}
			if len(got) > 40 {
				sets++
			}
		}
	}
	if sets < 4 {
		t.Errorf("%d sets of boxes go over the whole drill, want several", sets)
	}
}

// walked is how many openers one has passed on the way to one.
func walked(opener int) int {
	if opener%2 == 1 {
		return opener / 2
	}
	return 24 + (48-opener)/2
}

// A card that is silent about what the book cannot tell would read as if it were done.
func TestCardNamesWhatIsNotKnown(t *testing.T) {
	tb := newTestBook(t)
	tb.must("machine", "add", "comb", "combine")
	unknown := 0
	for _, it := range rules.Due(tb.state(), rules.Filter{All: true}) {
		if it.State == rules.Unknown {
			unknown++
		}
	}
	_, _, p := cardOf(t, tb, "comb", "")
	i := slices.IndexFunc(p.Sections, func(s paper.Section) bool { return s.Title == "Not known whether it is due" })
	if unknown == 0 || i < 0 {
		t.Fatalf("%d jobs are not known, their section is %d", unknown, i)
	}
	if l, ok := p.Sections[i].Blocks[0].(paper.List); !ok || len(l.Items) == 0 || !strings.Contains(l.Items[0].Words, "comb") {
		t.Errorf("got %#v", p.Sections[i].Blocks)
	}
}

// What a reading may be stands over its boxes, a share of the new size too.
func TestCardSaysTheLimit(t *testing.T) {
	_, tasks, _ := cardOf(t, demoBook(t), "drill", "")
	for _, task := range tasks {
		for _, set := range task.Boxes {
			if strings.HasPrefix(set.Caption, "disc, edge to hub, in in (limit: at least 80 % of new; new 6.5 in)") {
				return
			}
		}
	}
	t.Error("the least size of a disc stands over no boxes")
}
