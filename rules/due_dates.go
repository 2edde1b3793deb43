package rules

import (
	"math/big"
	"strconv"
	"strings"
	"time"

	"shedbook/rules/quantity"
	"shedbook/rules/record"
)

var (
	days   = quantity.MustUnit("d")
	months = quantity.MustUnit("mo")
)

// calendarDay is a date as midnight UTC, for counting days only.
func calendarDay(date string) time.Time { return record.Done(date).Day() }

func dateOf(t time.Time) string { return t.Format("2006-01-02") }

// daysBetween counts the days from a to b; negative where b is earlier.
// Seconds are counted, for a Duration ends after 106751 days.
func daysBetween(a, b time.Time) int { return int((b.Unix() - a.Unix()) / (24 * 60 * 60)) }

// laterBy is the date an interval after t. Months keep the day of the month, or the month's last day where it has no such day; a part of a month is
// thirtieths, a part of a day a whole one.
func laterBy(t time.Time, span quantity.Quantity) time.Time {
	if span.Dimension() != quantity.Calendar {
		return t.AddDate(0, 0, ceil(numberIn(span, days)))
	}
	n := numberIn(span, months)
	whole := new(big.Int).Quo(n.Num(), n.Denom())
	rest := new(big.Rat).Sub(n, new(big.Rat).SetInt(whole))
	return addMonths(t, int(whole.Int64())).AddDate(0, 0, ceil(rest.Mul(rest, big.NewRat(30, 1))))
}

func addMonths(t time.Time, n int) time.Time {
	first := time.Date(t.Year(), t.Month()+time.Month(n), 1, 0, 0, 0, 0, time.UTC)
	last := first.AddDate(0, 1, -1).Day()
	return first.AddDate(0, 0, min(t.Day(), last)-1)
}

// spanDays is about how many days a calendar interval lasts; for comparing and for notice, never for a due date.
func spanDays(span quantity.Quantity) int {
	start := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)
	return max(1, daysBetween(start, laterBy(start, span)))
}

// numberIn is q's number in u; zero where the units do not fit, which the schedule's check has refused.
func numberIn(q quantity.Quantity, u quantity.Unit) *big.Rat {
	x, err := q.In(u, 9)
	if err != nil {
		return new(big.Rat)
	}
	return x.Rat()
}

func ceil(r *big.Rat) int {
	q, m := new(big.Int).DivMod(r.Num(), r.Denom(), new(big.Int))
	if m.Sign() > 0 {
		return int(q.Int64()) + 1
	}
	return int(q.Int64())
}

func inDays(n int) Amount { return Amount{Value: quantity.Whole(int64(n), days)} }

// plural is "1 day", "3 days".
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// inWords joins words: "a", "a and b", "a, b and c".
func inWords(words []string) string { return joined(words, "and") }

func orWords(words []string) string { return joined(words, "or") }

func joined(words []string, last string) string {
	n := len(words)
	if n < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:n-1], ", ") + " " + last + " " + words[n-1]
}
