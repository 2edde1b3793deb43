package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"time"

	"shedbook/rules/record"
)

// env is everything a command may know of the world outside its book.
type env struct {
	stdin          io.Reader
	stdout, stderr io.Writer
	getenv         func(string) string
	now            func() time.Time
	random         io.Reader
	dir            string // working folder
	asks           bool   // a person can be asked: stdin and stderr are terminals
	wraps          bool   // errors go to a terminal: break long lines between words
	shows          bool   // stdout is a terminal
	width          int    // of that terminal; 0: unknown

	lines *bufio.Reader // stdin by lines, made on first use
}

// today is the farm-local day.
func (e *env) today() string { return e.now().Format("2006-01-02") }

// minute is now, as a record stores it.
func (e *env) minute() record.Done { return record.Done(e.now().Format("2006-01-02T15:04")) }

// columns is the width to write for: the terminal's, else COLUMNS, else 80.
func (e *env) columns() int {
	if n, err := strconv.Atoi(e.getenv("COLUMNS")); err == nil && n >= 20 {
		return n
	}
	if e.width > 0 {
		return e.width
	}
	return 80
}

// path makes a name typed by a person absolute.
func (e *env) path(name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(e.dir, name)
}

// configDir is the user's own folder for shedbook, where signing keys live (XDG Base Directory; AppData and Library elsewhere).
func (e *env) configDir() (string, error) {
	home := e.getenv("HOME")
	switch {
	case e.getenv("SHEDBOOK_CONFIG") != "":
		return e.path(e.getenv("SHEDBOOK_CONFIG")), nil
	case runtime.GOOS == "windows" && e.getenv("AppData") != "":
		return filepath.Join(e.getenv("AppData"), "shedbook"), nil
	case filepath.IsAbs(e.getenv("XDG_CONFIG_HOME")): // a relative one is to be ignored, says the specification
		return filepath.Join(e.getenv("XDG_CONFIG_HOME"), "shedbook"), nil
	case home == "":
		return "", errors.New("no folder for signing keys: neither HOME nor SHEDBOOK_CONFIG is set")
	case runtime.GOOS == "darwin":
		return filepath.Join(home, "Library", "Application Support", "shedbook"), nil
	}
	return filepath.Join(home, ".config", "shedbook"), nil
}

// readLine reads one line from stdin, without its end. io.EOF when there is none.
func (e *env) readLine() (string, error) {
	if e.lines == nil {
		e.lines = bufio.NewReader(e.stdin)
	}
	s, err := e.lines.ReadString('\n')
	if err != nil && s == "" {
		return "", err
	}
	return strings.TrimRight(s, "\r\n"), nil
}

// ask puts a question on stderr and returns the answer; only where a person can be asked.
func (e *env) ask(question string) (string, error) {
	fmt.Fprint(e.stderr, question+" ")
	return e.readLine()
}
