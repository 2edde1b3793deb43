package schedule

import "fmt"

// manualValue is what to write instead of a bolt whose torque is not computed.
const manualValue = `write value = "75 lbf.ft" or the like, as the operator's manual has it`

// readTorque reads one fastener: either a value, as a manual has it, or a bolt from which one is computed. A farm's own value takes the place of a bolt.
func (t *table) readTorque(j Job) Torque {
	q := t.readValue()
	bolt := t.readBolt(j, q.LeftHand)
	value, at := t.n.items["value"], t.n.items["bolt"]
	switch {
	case at == nil && value == nil:
		t.missing("value", `write value = "75 lbf.ft"`)
	case at != nil && q.Size != "":
		t.wrong(t.n.items["size"], "take it out: bolt says the size", "%s has both size and bolt", t.what)
	case at == nil || bolt == nil:
	case value == nil:
		q.Bolt, q.Size, q.Value = bolt, bolt.String(), bolt.Torque()
		for _, key := range []string{"min", "max"} {
			if n := t.n.items[key]; n != nil && n.src == t.n.src {
				t.r.fail(n.mistake(n.key, fmt.Sprintf("%s has %s, but its torque is computed", t.what, key), "min and max go with value: take it out"))
			}
		}
	case value.src == t.n.src:
		t.r.fail(at.mistake(at.key, t.what+" has both value and bolt", "keep value where the manual names one: then nothing is computed"))
	default:
		q.Size = bolt.String()
	}
	t.finish()
	return q
}

// readBolt reads bolt, joint, grade and finish; nil where there is no bolt, or a mistake in it.
func (t *table) readBolt(j Job, leftHand bool) *Bolt {
	before := len(t.r.errs)
	b := &Bolt{Finish: t.oneOf("finish", "", "dry", "plated")}
	joint := t.typed("joint", textNode, `joint = "flange"`)
	grade, gradeAt := t.loose("grade")
	size := t.typed("bolt", textNode, `bolt = "3/4-10" or "M12x1.75"`)
	if t.n.items["bolt"] == nil {
		for _, key := range []string{"joint", "grade", "finish"} {
			if n := t.n.items[key]; n != nil {
				t.r.fail(n.mistake(n.key, fmt.Sprintf("%s of %s goes with bolt only", key, t.what), "take it out"))
			}
		}
		return nil
	}
	if size != nil {
		var err error
		if b.thread, err = parseThread(size.text); err != nil {
			t.wrong(size, "", "bolt of %s: %v", t.what, err)
		}
		b.Thread = b.thread.name
	}
	switch {
	case joint != nil && joint.text != "flange":
		t.wrong(joint, "of anything else "+manualValue, "joint of %s is %q; a torque is computed for flange joints only, plain steel bolts that clamp plates", t.what, joint.text)
	case t.n.items["joint"] == nil:
		t.missing("joint", `write joint = "flange" where plain steel bolts clamp plates; of anything else `+manualValue)
	}
	t.grade(b, grade, gradeAt)
	if t.n.items["finish"] == nil {
		t.missing("finish", `write finish = "dry" (plain, not oiled; K 0.20) or "plated" (K 0.15)`)
	}
	t.refuse(j, leftHand)
	if len(t.r.errs) > before {
		return nil
	}
	return b
}

// grade takes the bolt's proof strength from its grade.
func (t *table) grade(b *Bolt, grade string, at *node) {
	grades := `"8.8", "10.9" or "12.9", as on the bolt's head`
	if b.thread.inch {
		grades = `"5" (three marks on the head) or "8" (six)`
	}
	switch {
	case t.n.items["grade"] == nil:
		t.missing("grade", "write grade = "+grades)
	case at == nil || b.thread.name == "":
	default:
		var ok bool
		if b.proof, ok = b.thread.proofStrength(grade); !ok {
			t.wrong(at, "write "+grades, "grade of %s is %q, which %s has not", t.what, grade, b.thread.name)
		}
		b.Grade = grade
	}
}

// loose is a text, or a number as it is written.
func (t *table) loose(key string) (string, *node) {
	n := t.value(key)
	if n == nil {
		return "", nil
	}
	text, ok := amountText(n)
	if !ok {
		t.wrong(n, "write a text in quotes", "%s of %s is %s", key, t.what, n.kind)
		return "", nil
	}
	return text, n
}

// refuse reports a fastener for which a computed torque is wrong: by its own words, its thread, or by the job it belongs to.
func (t *table) refuse(j Job, leftHand bool) {
	at := t.n.items["bolt"]
	if n := t.n.items["left_hand"]; leftHand {
		_, why := refused("left-hand")
		t.r.fail(n.mistake(n.key, fmt.Sprintf("no torque is computed for a left-hand thread: %s", why), manualValue))
	}
	for _, place := range []struct {
		text, what string
		at         *node
	}{{t.n.text1("what"), t.what, t.n.items["what"]}, {spaced(j.Name), fmt.Sprintf("job %q", j.Name), at}, {j.Title, fmt.Sprintf("the title of job %q", j.Name), at},
		{spaced(j.Of), fmt.Sprintf("of of job %q", j.Name), at}, {spaced(j.Swaps), fmt.Sprintf("swaps of job %q", j.Name), at}} {
		if word, why := refused(place.text); word != "" {
			t.r.fail(place.at.mistake(place.at.start, fmt.Sprintf("no torque is computed where %s says %q: %s", place.what, word, why), manualValue))
			return
		}
	}
}

// text1 is the text of an item, "" where it is none.
func (n *node) text1(key string) string {
	if item := n.items[key]; item != nil && item.kind == textNode {
		return item.text
	}
	return ""
}
