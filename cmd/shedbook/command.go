package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"syscall"

	"github.com/spf13/pflag"

	"shedbook/rules/quantity"
	"shedbook/rules/schedule"
)

// Exit codes, the same for every command.
const (
	exitDone        = 0
	exitFailed      = 1
	exitUsage       = 2
	exitUnsound     = 3 // the book does not verify
	exitOverdue     = 4 // due --exit-code, and work is overdue
	exitNoExchange  = 5
	exitInterrupted = 130
)

// command is one line of what shedbook can do. Each stands in a file of its own and is made anew for every run, so flags hold no state between runs.
type command struct {
	name     string // "did", "people add"
	section  string // heading in the overview
	brief    string // one line, starts with a verb
	usage    []string
	about    string   // what a person needs to know, wrapped when printed
	examples []string // shown first, without "shedbook"
	writes   bool     // takes --dry-run and --yes
	reads    bool     // takes --on and --known, and --book more than once
	flags    func(*pflag.FlagSet)
	run      func(*call) error
}

// common are the flags every command takes.
type common struct {
	books   []string
	json    bool
	on      string
	known   string
	units   string
	color   string
	quiet   bool
	yes     bool
	dryRun  bool
	key     string
	help    bool
	version bool
	noPager bool
}

// call is one run of one command.
type call struct {
	*env
	*common
	cmd    *command
	args   []string // what is left after flags
	typed  []string // the whole line
	system quantity.System
	hand   *hand // who types on a phone; nil: at this computer
	opened []*book
	papers map[string]*attached // files read for --paper, by their names
}

// userError is a mistake with its next step.
type userError struct {
	code int    // exit code
	tag  string // stable, for --json
	text string
	hint string // what to type next
	err  error
	slip slip // what is wrong in the line, where it is known what was meant
}

func (e *userError) Error() string { return e.text }
func (e *userError) Unwrap() error { return e.err }

// usage says the command line itself is wrong.
func usage(hint, format string, a ...any) error {
	return &userError{code: exitUsage, tag: "usage", text: fmt.Sprintf(format, a...), hint: hint, slip: slipIn(a)}
}

// failed says the command could not do what it was asked to.
func failed(tag, hint, format string, a ...any) error {
	return &userError{code: exitFailed, tag: tag, text: fmt.Sprintf(format, a...), hint: hint, slip: slipIn(a)}
}

// printf writes a result. That it could not be written is held by the output and told at the end of the run.
func (c *call) printf(format string, a ...any) { fmt.Fprintf(c.stdout, format, a...) }

// say writes talk beside the results, unless --quiet.
func (c *call) say(format string, a ...any) {
	if !c.quiet {
		fmt.Fprintf(c.stderr, format, a...)
	}
}

// printJSON writes one object with "format":1 first and its other members sorted as the value gives them.
func (c *call) printJSON(v any) error {
	enc := json.NewEncoder(c.stdout)
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// confirm asks about something unusual: on a terminal the person decides, elsewhere --yes must have been given.
func (c *call) confirm(question, tag string) error {
	if c.yes {
		return nil
	}
	if tag == "future" { // nobody can have done it yet, so nobody is asked; --yes is for a clock that is behind and cannot be set
		return failed(tag, "leave --done out if it is done; if that day is today, set this computer's clock. What is planned is not recorded: shedbook due lists it",
			"%s, and only what was done is recorded; nothing was recorded", question)
	}
	if !c.asks {
		return failed(tag, "if it is right, say the same again with --yes", "%s; nothing was recorded", question)
	}
	answer, err := c.ask(question + "\nRecord it all the same? [y/N]")
	if err == nil && (strings.EqualFold(answer, "y") || strings.EqualFold(answer, "yes")) {
		return nil
	}
	return failed(tag, "", "nothing was recorded")
}

// commonFlags binds the common flags.
func (o *common) flags(fs *pflag.FlagSet, cmd *command) {
	fs.StringArrayVar(&o.books, "book", o.books, "the book's `folder` (else SHEDBOOK_BOOK, else the folder above that is a book)")
	fs.BoolVar(&o.json, "json", o.json, "print one JSON object")
	fs.StringVar(&o.units, "units", o.units, "show quantities in these `units`: us or metric")
	fs.StringVar(&o.color, "color", o.color, "`when` to use colour: auto, always or never")
	fs.BoolVarP(&o.quiet, "quiet", "q", o.quiet, "results and what must be known only: no hints, nothing of what is due next")
	fs.BoolVarP(&o.help, "help", "h", o.help, "show how to use it")
	if cmd == nil || cmd.reads {
		fs.StringVar(&o.on, "on", o.on, "what was true on this `day`")
		fs.StringVar(&o.known, "known", o.known, "from what was known by the end of this `day`")
		fs.BoolVar(&o.noPager, "no-pager", o.noPager, "show it as it is, without a pager")
	}
	if cmd == nil || cmd.writes {
		fs.BoolVarP(&o.yes, "yes", "y", o.yes, "take what would be asked about as meant")
		fs.BoolVarP(&o.dryRun, "dry-run", "n", o.dryRun, "say what would be recorded, record nothing")
		fs.StringVar(&o.key, "key", o.key, "sign with this key `file` (or a public key file whose key the ssh-agent holds)")
	}
	if cmd == nil {
		fs.BoolVar(&o.version, "version", o.version, "print the version")
	}
}

// run is the whole program. It returns the exit code.
func run(e *env, args []string) int {
	o := &common{color: "auto"}
	out := &output{Writer: e.stdout}
	held := *e
	held.stdout = out
	e = &held
	err := dispatch(e, o, args)
	var exit exitCode
	if out.lost() {
		o.json = false // an object would go where nothing can be written
		if err == nil || errors.As(err, &exit) || errors.Is(err, out.err) {
			err = failed("not-written", "make room, or let it write elsewhere; what was recorded stays recorded", "the result was not written: %v", out.err)
		}
	}
	if err == nil {
		return exitDone
	}
	if errors.As(err, &exit) {
		return int(exit)
	}
	return report(e, o, err)
}

// output is the standard output of a run. It keeps the first error of its writes.
type output struct {
	io.Writer
	err error
}

func (o *output) Write(b []byte) (int, error) {
	n, err := o.Writer.Write(b)
	if o.err == nil {
		o.err = err
	}
	return n, err
}

// lost reports that a result went astray. A reader that has seen enough, as head has, is no mistake.
func (o *output) lost() bool { return o.err != nil && !errors.Is(o.err, syscall.EPIPE) }

// exitCode ends a command that has already said everything.
type exitCode int

func (e exitCode) Error() string { return fmt.Sprintf("exit %d", int(e)) }

func dispatch(e *env, o *common, args []string) error {
	root := newFlagSet("shedbook")
	root.SetInterspersed(false)
	o.flags(root, nil)
	if err := root.Parse(shield(root, args)); err != nil {
		return flagError(root, "shedbook --help", err)
	}
	rest := unshield(root.Args())
	switch {
	case o.version:
		return printVersion(e)
	case len(rest) == 0:
		return overview(e)
	case rest[0] == completeWord:
		return complete(e, rest[1:])
	case rest[0] == "help":
		return helpCommand(e, rest[1:])
	}
	cmd, rest, err := find(rest)
	if err != nil {
		return err
	}
	if o.help || cmd == nil {
		return helpCommand(e, strings.Fields(strings.Join(rest, " ")))
	}
	fs := newFlagSet("shedbook " + cmd.name)
	o.flags(fs, cmd)
	if cmd.flags != nil {
		cmd.flags(fs)
	}
	if err := fs.Parse(shield(fs, rest)); err != nil {
		return flagError(fs, "shedbook "+cmd.name+" --help", err)
	}
	if o.help {
		return helpCommand(e, strings.Fields(cmd.name))
	}
	c := &call{env: e, common: o, cmd: cmd, args: unshield(fs.Args()), typed: args}
	if o.units != "" {
		if c.system, err = quantity.ParseSystem(o.units); err != nil {
			return usage("write --units us or --units metric", "%v", err)
		}
	}
	switch o.color {
	case "auto", "always", "never":
	default:
		return usage("write --color auto, always or never", "--color %q is none of auto, always, never", o.color)
	}
	if !cmd.reads && len(o.books) > 1 {
		return usage("name one book", "%s works on one book at a time", cmd.name)
	}
	c.setClock()
	if err := c.plainDates(); err != nil {
		return err
	}
	err = cmd.run(c)
	c.keepNames()
	return c.retyped(err)
}

func newFlagSet(name string) *pflag.FlagSet {
	fs := pflag.NewFlagSet(name, pflag.ContinueOnError)
	fs.SetOutput(nothing{})
	fs.Usage = func() {}
	fs.SortFlags = false
	return fs
}

type nothing struct{}

func (nothing) Write(b []byte) (int, error) { return len(b), nil }

// find takes the command's one or two words off the front.
func find(args []string) (*command, []string, error) {
	var one *command
	group := false
	for _, build := range commands {
		cmd := build()
		if len(args) > 1 && cmd.name == args[0]+" "+args[1] {
			return cmd, args[2:], nil
		}
		if cmd.name == args[0] {
			one = cmd
		}
		if strings.HasPrefix(cmd.name, args[0]+" ") {
			group = true
		}
	}
	switch {
	case one != nil:
		return one, args[1:], nil
	case group && (len(args) == 1 || strings.HasPrefix(args[1], "-")):
		return nil, args[:1], nil
	case group:
		return nil, nil, usage("shedbook help "+args[0], "shedbook %s has no %q%s", args[0], args[1], didYouMean(args[1], subcommands(args[0])))
	}
	return nil, nil, usage("shedbook help", "there is no command %q%s", args[0], didYouMean(args[0], commandWords()))
}

// didYouMean is "; did you mean X or Y?" or nothing.
func didYouMean(word string, known []string) string {
	near := schedule.Suggest(word, known)
	if len(near) == 0 {
		return ""
	}
	return "; did you mean " + strings.Join(near, " or ") + "?"
}

// shield keeps "-1" and "-0.25" from being taken for flags: it marks them where they do not follow a flag that wants a value.
func shield(fs *pflag.FlagSet, args []string) []string {
	out := make([]string, len(args))
	for i, a := range args {
		out[i] = a
		if len(a) > 1 && a[0] == '-' && (a[1] >= '0' && a[1] <= '9' || a[1] == '.') && !(i > 0 && wantsValue(fs, args[i-1])) {
			out[i] = mark + a
		}
	}
	return out
}

const mark = "\x00"

func unshield(args []string) []string {
	out := make([]string, len(args))
	for i, a := range args {
		out[i] = strings.TrimPrefix(a, mark)
	}
	return out
}

func wantsValue(fs *pflag.FlagSet, arg string) bool {
	name, ok := strings.CutPrefix(arg, "--")
	if !ok || strings.Contains(name, "=") {
		return false
	}
	f := fs.Lookup(name)
	return f != nil && f.NoOptDefVal == ""
}

// flagError turns the flag library's words into ours.
func flagError(fs *pflag.FlagSet, help string, err error) error {
	text := err.Error()
	if name, ok := strings.CutPrefix(text, "unknown flag: --"); ok {
		var known []string
		fs.VisitAll(func(f *pflag.Flag) { known = append(known, f.Name) })
		return usage(help, "%s has no flag --%s%s", fs.Name(), name, didYouMean(name, known))
	}
	return usage(help, "%s", text)
}

// report prints an error as a person or a program reads it.
func report(e *env, o *common, err error) int {
	code, tag, hint := exitFailed, "failed", ""
	var ue *userError
	if errors.As(err, &ue) {
		code, tag, hint = ue.code, ue.tag, ue.hint
	}
	if o.json {
		enc := json.NewEncoder(e.stdout)
		enc.SetEscapeHTML(false)
		_ = enc.Encode(map[string]any{"format": 1, "error": map[string]any{"code": tag, "message": err.Error(), "hint": hint}})
		return code
	}
	e.complain("shedbook: " + err.Error())
	if hint != "" {
		e.complain("  next: " + hint)
	}
	return code
}
