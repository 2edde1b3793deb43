package main

import (
	"fmt"
	"io"
	"strings"
	"time"
)

// waiting says on a terminal what goes on, once it has taken a second, and takes that away when it is done.
func (c *call) waiting(what string) (done func()) {
	if !c.wraps || c.quiet || c.json {
		return func() {}
	}
	timer := time.NewTimer(time.Second)
	end := waitSaying(c.stderr, what, timer.C)
	return func() { timer.Stop(); end() }
}

// waitSaying writes what goes on when late fires. Nothing is written once done has returned.
func waitSaying(w io.Writer, what string, late <-chan time.Time) (done func()) {
	end, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		select {
		case <-end:
			return
		case <-late:
		}
		fmt.Fprintf(w, "%s ...", what)
		<-end
		fmt.Fprintf(w, "\r%s\r", strings.Repeat(" ", len(what)+4))
	}()
	return func() { close(end); <-ended }
}
