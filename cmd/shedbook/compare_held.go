package main

import (
	"fmt"
	"strings"

	"shedbook/rules"
	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

// fewSpells is how many values of a season are told one after the other: of more, how long each stood in all.
const fewSpells = 3

// settingText is what a setting stood at: "6", or where it was changed meanwhile "mostly 2; changed during the season: 2 for 300 ac, then 3 from 2026-05-14 for 120 ac".
func (c *call) settingText(f rules.Found) string {
	n := len(f.Held)
	if n == 0 {
		return c.setTo(f.Value)
	}
	var told []string
	if n <= fewSpells {
		for i, h := range f.Held {
			if i == 0 {
				told = append(told, c.heldText(h))
			} else {
				told = append(told, fmt.Sprintf("then %s from %s for %s", c.setTo(h.Value), h.From.Date(), c.spanText(h.Use)))
			}
		}
		return mostly(c.setTo(f.Value)) + "; changed during the season: " + strings.Join(told, ", ") + workedOut(f)
	}
	all := rules.ByValue(f.Held)
	for i, h := range all {
		if i == fewSpells && len(all) > fewSpells+1 {
			told = append(told, fmt.Sprintf("%d other values", len(all)-i))
			break
		}
		told = append(told, c.heldText(h))
	}
	return fmt.Sprintf("%s; changed %d times during the season: %s%s; %s at its end", mostly(c.setTo(f.Value)), n-1, strings.Join(told, ", "), workedOut(f), c.setTo(f.Last))
}

// settingShort is the same in few words: "mostly 2 (changed during the season, 3 at its end)".
func (c *call) settingShort(value, last record.Value, changed bool) string {
	switch {
	case !changed:
		return c.setTo(value)
	case last == value:
		return mostly(c.setTo(value)) + " (changed during the season)"
	}
	return fmt.Sprintf("%s (changed during the season, %s at its end)", mostly(c.setTo(value)), c.setTo(last))
}

func mostly(value string) string { return "mostly " + value }

func (c *call) heldText(h rules.Held) string { return c.setTo(h.Value) + " for " + c.spanText(h.Use) }

func (c *call) setTo(v record.Value) string {
	if v.IsZero() {
		return "not set"
	}
	return c.valueText(v)
}

// spanText is for how long a value stood: "300 ac", or where no counter tells "12 days".
func (c *call) spanText(q quantity.Quantity) string {
	if q.Unit().String() != "d" {
		return c.usual(q).String()
	}
	if q.Number() == "1" {
		return "1 day"
	}
	return q.Number() + " days"
}
