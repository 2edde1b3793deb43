// Package cost is the arithmetic of owning a machine: what it will have cost to repair, what it is still worth, and what its capital costs a year, by the
// published formulas of farm economics.
//
// Numbers in, numbers out: it knows nothing of machines in a book, entries or dates. Money is in any one currency, all of it in prices of one year; the
// formulas carry no currency and no year.
//
// What it promises:
//
//   - A result is finite, and where it is money or a share it is not below zero (CapitalRecovery says when it is). Numbers that make no sense (below zero, not finite, beyond Most) are an error that wraps ErrInput and names them.
//   - Each class of machine says whether its coefficients are checked: a checked pair or triple reproduces every cell, or nearly every cell, of a published table
//     that the tests hold (testdata). One that is not checked was recalled from memory; whoever shows a figure made with it says so (Recalled).
//   - The formulas are averages over many farms. They say nothing certain of one machine.
package cost

import (
	"errors"
	"fmt"
	"math"
)

// ErrInput is wrapped by every error about a number that the formulas cannot take.
var ErrInput = errors.New("the formula cannot take that")

// Most is the greatest amount of money, hours or hours a year that is taken; more is a slip of the hand.
const Most = 1e12

// MostYears is the longest time that is taken.
const MostYears = 200

// Recalled is how coefficients that are not checked are to be marked wherever a figure made with them is shown.
const Recalled = "recalled, unverified"

// between refuses what is not finite or lies outside.
func between(what string, x, low, high float64) error {
	if math.IsNaN(x) || x < low || x > high {
		return fmt.Errorf("%s: %g lies outside %g to %g: %w", what, x, low, high, ErrInput)
	}
	return nil
}

func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
