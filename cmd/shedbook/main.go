// Command shedbook keeps the service record of a family's farm machinery: signed entries in a book, replayed into what stands where, what is wrong and
// what is overdue.
//
// This package takes arguments in and gives text out; what is so is decided in shedbook/rules, what is signed in shedbook/ledger, what is stored in
// shedbook/ledger/gitstore. main only gathers the process's arguments, streams, clock and random source into an env; everything else is a function of it.
package main

import (
	"crypto/rand"
	"os"
	"os/signal"
	"syscall"
	"time"

	"golang.org/x/term"
)

func main() {
	spendMemory()
	outliveLimits()
	endWhenInterrupted()
	os.Exit(run(processEnv(), os.Args[1:]))
}

// endWhenInterrupted has Ctrl-C end the process at once with 130: acknowledged entries are on disk, and an unacknowledged one was not recorded.
func endWhenInterrupted() {
	interrupted := make(chan os.Signal, 1)
	signal.Notify(interrupted, os.Interrupt, syscall.SIGTERM)
	go func() {
		<-interrupted
		os.Exit(exitInterrupted)
	}()
}

// processEnv is the real world.
func processEnv() *env {
	width := 0
	if w, _, err := term.GetSize(int(os.Stdout.Fd())); err == nil {
		width = w
	}
	dir, err := os.Getwd()
	if err != nil {
		dir = "."
	}
	return &env{
		stdin: os.Stdin, stdout: os.Stdout, stderr: os.Stderr,
		getenv: os.Getenv, now: time.Now, random: rand.Reader, dir: dir,
		asks:  term.IsTerminal(int(os.Stdin.Fd())) && term.IsTerminal(int(os.Stderr.Fd())),
		wraps: term.IsTerminal(int(os.Stderr.Fd())),
		shows: term.IsTerminal(int(os.Stdout.Fd())), width: width,
	}
}
