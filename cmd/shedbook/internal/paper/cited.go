package paper

// Cited calls f for every entry that the page names in its own words and that a reader sees named, in the order of the page; one named twice comes twice.
func (p *Page) Cited(f func(id string)) {
	say := func(all ...Text) {
		for _, t := range all {
			from := once(t.From)
			for i, id := range from {
				if i == refsShown && len(from) > refsShown+1 {
					break
				}
				f(id)
			}
		}
	}
	say(p.Under...)
	for _, s := range p.Sections {
		for _, b := range s.Blocks {
			switch b := b.(type) {
			case Para:
				say(b.Text)
			case PrintOnly:
				say(b.Text)
			case Pictures:
				for _, x := range b.Items {
					say(x.Under)
				}
			case Facts:
				for _, x := range b.Items {
					say(x.Values...)
				}
			case List:
				say(b.Items...)
			case Steps:
				for _, x := range b.Items {
					say(x.Text)
				}
			case Notice:
				say(b.Lines...)
			case Table:
				b.cited(say)
			case SpotCard:
				for _, r := range b.Rows {
					say(r.Expected)
				}
			case Windscreen:
				say(b.Wrong...)
			case Figure:
				b.Chart.Table().cited(say)
			}
		}
	}
	say(p.Foot...)
}

func (t Table) cited(say func(...Text)) {
	for _, r := range t.Rows {
		say(r.Cells...)
	}
}
