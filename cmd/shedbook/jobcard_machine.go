package main

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"shedbook/cmd/shedbook/internal/paper"
	"shedbook/cmd/shedbook/internal/phone"
	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
	"shedbook/rules/schedule"
)

// machineCard is the card of one machine: cautions, who and when, what to bring, then job by job.
func (c *call) machineCard(k *card, several bool) []paper.Section {
	shared := sharedCare(k)
	first := paper.Section{ID: "before", Title: "Before anything", Whole: true}
	if several {
		first.ID, first.Title, first.NewSheet = "", k.m.Name, true
	}
	care := paper.Notice{Title: "Work on machines kills", Grave: true}
	for _, s := range shared {
		care.Lines = append(care.Lines, paper.Say(s))
	}
	first.Blocks = append(first.Blocks, care, paper.Blanks{Names: cardBlanks(k.m)})
	if about := aboutMachine(k); about != "" {
		first.Note = about
	}
	out := []paper.Section{first}
	if bring := c.bringBlocks(k); len(bring) > 0 {
		out = append(out, paper.Section{Title: "Bring", Blocks: bring})
	}
	work := paper.Section{Title: "The work, in an order that opens each thing once"}
	open := ""
	for i, t := range k.tasks {
		task := c.taskBlock(k, t, shared)
		task.Number = fmt.Sprint(i + 1)
		if t.Opens != open && t.Opens != "" {
			task.Facts = append([]paper.Fact{{Name: "open", Values: []paper.Text{paper.Say(t.Opens)}}}, task.Facts...)
		}
		open = t.Opens
		work.Blocks = append(work.Blocks, task)
	}
	work.Blocks = append(work.Blocks, paper.Blanks{Names: []string{"found besides, to be put right", "signed"}})
	return append(out, work)
}

// cardBlanks are what is written at the head: who, when, and each counter that somebody reads.
func cardBlanks(m *rules.Machine) []string {
	out := []string{"done by", "date"}
	if m.Fitted == nil {
		return out
	}
	for _, x := range m.Fitted.Counters {
		if k := m.Counters[x.Name]; k == nil || !k.Derived {
			out = append(out, fmt.Sprintf("%s, %s", x.Name, x.Unit))
		}
	}
	return out
}

func aboutMachine(k *card) string {
	words := []string{}
	if k.m.Fitted != nil {
		words = append(words, k.m.Fitted.Title)
	}
	if k.m.Serial != "" {
		words = append(words, "serial "+k.m.Serial)
	}
	if y := yardName(k.st, k.m.Yard); y != "" {
		words = append(words, "at "+y)
	}
	if k.m.Unfit {
		words = append(words, "written down as not fit to run")
	}
	return strings.Join(words, ", ")
}

// sharedCare are the cautions of the whole card: that of any job, and those that more than two of its jobs have.
func sharedCare(k *card) []string {
	count := map[string]int{}
	var order []string
	for _, t := range k.tasks {
		var mine []string
		for _, l := range t.lines {
			for _, s := range l.Cautions {
				if !slices.Contains(mine, s) {
					mine = append(mine, s)
				}
			}
		}
		for _, s := range mine {
			if count[s]++; count[s] == 1 {
				order = append(order, s)
			}
		}
	}
	anyJob := schedule.StandardCautions()[0].Text
	out := []string{anyJob}
	for _, s := range order {
		if s != anyJob && (count[s] > 2 || count[s] == len(k.tasks)) {
			out = append(out, s)
		}
	}
	return out
}

// bringBlocks are tools, what is used up, parts and the span of the torque wrench. What is counted is for all machines of the card's preparation; it is asked
// for anew for this machine alone.
func (c *call) bringBlocks(k *card) []paper.Block {
	day := k.prep.Before
	one := prepared{st: k.st, words: k.prep.words, Preparation: rules.Prepare(k.st, rules.Filter{Machine: k.m.ID}, day, "")}
	var items []paper.Text
	for _, t := range one.Tools {
		items = append(items, paper.Say(t.Tool))
	}
	if low, high, computed := torqueSpan(c, one); low != "" {
		items = append(items, paper.Say("torque wrench, calibrated, for "+low+iff(high != low, " to "+high)+iff(computed, " (some computed from the bolt: the manual's figure rules)")))
	}
	for _, u := range one.Uses {
		items = append(items, paper.Say(strings.TrimSpace(u.What+before(": ", amountOrNone(c, u.Amount)))))
	}
	for _, n := range one.Parts {
		words := fmt.Sprintf("%s: %d", partNeedName(n), n.Count)
		if n.Named == "" {
			words += fmt.Sprintf(" (%d on the shelf)", n.Shelf)
		}
		items = append(items, paper.Say(words, cardIDs(n.Entries)...))
	}
	if len(items) == 0 {
		return nil
	}
	return []paper.Block{paper.Ticks{Items: items}}
}

func amountOrNone(c *call, q quantity.Quantity) string {
	if q.IsZero() || q.Sign() == 0 {
		return ""
	}
	return c.both(q)
}

// taskBlock is one job: why, how, with what torque and limit, the boxes, and the line that records it.
func (c *call) taskBlock(k *card, t *cardTask, shared []string) paper.Task {
	b := paper.Task{Title: t.Title, Where: t.where(), Mark: t.mark(), Why: paper.Say(t.stands(c), cardIDs(t.worst().Entries)...)}
	for _, l := range t.lines {
		for _, s := range l.Cautions {
			if !slices.Contains(shared, s) && !slices.Contains(b.Care, s) {
				b.Care = append(b.Care, s)
			}
		}
	}
	job, known := k.jobOf(t)
	b.Facts = c.taskFacts(k, t, job)
	if known {
		c.boxesOf(k, t, job, &b)
	}
	b.Room = []string{"skipped, why"}
	if !known || t.Cause == rules.ByFault {
		b.Room = []string{"what was done"}
	}
	b.Key = append(b.Key, c.keyLines(k, t, job)...)
	b.Square = k.square(t)
	return b
}

// square leads a phone to a task: to its job, or to the machine where it is none.
func (k *card) square(t *cardTask) *paper.Square {
	if k.phone == "" {
		return nil
	}
	job := ""
	if def, ok := k.jobOf(t); ok {
		job = def.Name
	}
	n, dark, err := phone.Square(k.phone + phone.JobPath(k.m.Name, job))
	if err != nil { // too long a name for any square
		return nil
	}
	return &paper.Square{Modules: n, Dark: dark, Says: "leads a phone to " + k.m.Name + before(": ", strings.ReplaceAll(job, "-", " "))}
}

// jobOf is the schedule's job of a task, where it has one.
func (k *card) jobOf(t *cardTask) (*schedule.Job, bool) {
	if k.m.Fitted == nil || t.Job == "" {
		return nil, false
	}
	return k.m.Fitted.Job(t.Job)
}

// taskFacts is what to know of a task: how, torque, what is done with it, what it takes, tools, who, time, when last. job is nil where the schedule has none.
func (c *call) taskFacts(k *card, t *cardTask, job *schedule.Job) []paper.Fact {
	var out []paper.Fact
	fact := func(name string, values ...string) {
		f := paper.Fact{Name: name}
		for _, v := range values {
			if v != "" {
				f.Values = append(f.Values, paper.Say(v))
			}
		}
		if len(f.Values) > 0 {
			out = append(out, f)
		}
	}
	if job != nil {
		fact("how", job.How)
		var torques []string
		for i := range job.Torques {
			torques = append(torques, c.torqueWords(k.m.Fitted, job, i))
		}
		fact("torque", torques...)
		fact("with it", strings.Join(job.Includes, ", "))
		var uses []string
		for _, u := range job.Uses {
			uses = append(uses, strings.TrimSpace(amountOrNone(c, u.Amount)+" "+u.What))
		}
		fact("takes", strings.Join(uses, ", ")+iff(job.Points > 0, fmt.Sprintf(" (%d points in each place)", job.Points)))
		fact("tools", strings.Join(job.Tools, ", "))
		fact("who", iff(t.Who != "anyone", t.Who)+iff(t.Hands > 1, fmt.Sprintf("%s%d people", iff(t.Who != "anyone", ", "), t.Hands)))
	}
	if t.Minutes != nil {
		fact("time", "about "+hoursText(t.minutes()))
	}
	if d := t.worst().Last; d.Entry != "" {
		name := "last done"
		if wasAssumed(k.st, d.Entry) {
			name = "taken as done"
		}
		fact(name, weekday(d.Done)+before(" by ", personName(k.st, t.LastBy)))
	}
	return out
}

// wasAssumed reports whether an entry took work as done that nobody saw done.
func wasAssumed(st *rules.State, id rules.ID) bool {
	at := slices.IndexFunc(st.Effective, func(e *rules.Effective) bool { return e.Entry.ID == id })
	if at < 0 {
		return false
	}
	_, is := st.Effective[at].Record.(*record.Assume)
	return is
}

// cardIDs are entries for a page.
func cardIDs(ids []record.ID) []string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = string(id)
	}
	return out
}

// keyLines are what is typed when the card comes back, with gaps for what the hand wrote.
func (c *call) keyLines(k *card, t *cardTask, job *schedule.Job) []string {
	name := k.m.Name
	places := ""
	if job != nil && !t.at.IsZero() && !k.m.Fitted.All(job.Of).Equal(t.at) {
		places = " " + placeWords(t.at)
	}
	switch {
	case t.Cause == rules.ByFault && t.Job == "":
		at := before(" ", placeWords(t.Positions))
		return []string{fmt.Sprintf("shedbook repair %s%s \"_____\" --closes %s", name, at, faultOf(t).Short())}
	case job == nil && t.About == "storage":
		return []string{"shedbook machine store " + name + " --out"}
	case job == nil:
		return []string{fmt.Sprintf("shedbook adjust %s%s %s=___", name, before(" ", placeWords(t.Positions)), cmp.Or(t.About, "____"))}
	case job.Swaps != "":
		return []string{fmt.Sprintf("shedbook swap %s%s %s --why worn", name, iff(places == "" && job.Of != "", " __")+places, job.Swaps)}
	}
	var out []string
	for _, r := range job.Measures {
		if def, ok := k.m.Fitted.Reading(r); ok && def.Computed == nil {
			out = append(out, fmt.Sprintf("shedbook measure %s%s %s --ask", name, places, r))
		}
	}
	line := fmt.Sprintf("shedbook did %s%s %s", name, places, t.Job)
	if slices.Contains(job.Results, "moved") && job.Of != "" {
		line += " --moved __,__"
	}
	if job.Of != "" {
		line += "   (left out: but __,__)"
	}
	if len(out) == 0 || len(job.Torques) > 0 || len(job.Uses) > 0 {
		out = append(out, line)
	}
	return out
}

// faultOf is the entry that found the fault of a task.
func faultOf(t *cardTask) record.ID {
	if len(t.Entries) > 0 {
		return t.Entries[0]
	}
	return ""
}

// placeWords are places as they are typed: "opener/1-13,30".
func placeWords(at record.Positions) string {
	var out []string
	noun := ""
	for _, s := range at.Strings() {
		n, rest, ok := strings.Cut(s, "/")
		if ok && n == noun {
			out[len(out)-1] += "," + rest
			continue
		}
		noun = n
		out = append(out, s)
	}
	return strings.Join(out, " ")
}
