package main

import (
	"slices"
	"strings"
)

// texts is a flag that may be said again, as pflag's stringArray is. An import binds those of 50,000 rows, and pflag writes CSV for each at once.
type texts []string

func (t *texts) Type() string { return "stringArray" }

func (t *texts) Set(v string) error { return t.Append(v) }

func (t *texts) Append(v string) error {
	*t = append(*t, v)
	return nil
}

func (t *texts) Replace(all []string) error {
	*t = slices.Clone(all)
	return nil
}

func (t *texts) GetSlice() []string { return slices.Clone(*t) }

func (t *texts) String() string { return "[" + strings.Join(*t, ",") + "]" }
