package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
)

// version is the newest one in CHANGELOG.md, and versionDay the day it stands under there: a test holds the two together.
const (
	version    = "0.9.0"
	versionDay = "2026-11-27"
)

// commit is what a release was built from, written in by cmd/release; other builds know it where they were made in a clone.
var commit string

// printVersion says which program and format this is: semver.org, what it was built from, the form of entries, the compiler.
func printVersion(e *env) error {
	fmt.Fprintf(e.stdout, "shedbook %s (%s, entry format 1, %s, %s/%s)\n", version, builtFrom(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
	return nil
}

// builtFrom is "source 0123456789ab", with "and changes" where the folder held some.
func builtFrom() string {
	from, changes := commit, ""
	if info, ok := debug.ReadBuildInfo(); ok && from == "" {
		for _, s := range info.Settings {
			switch {
			case s.Key == "vcs.revision":
				from = s.Value
			case s.Key == "vcs.modified" && s.Value == "true":
				changes = " and changes"
			}
		}
	}
	if from == "" {
		return "source unknown"
	}
	return "source " + from[:min(len(from), 12)] + changes
}
