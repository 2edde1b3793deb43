package faults

import (
	"regexp"
	"strings"
)

// writing are the system calls that change a disk, or say that it was changed.
var writing = []string{"openat", "write", "pwrite64", "fsync", "fdatasync", "rename", "renameat", "renameat2", "unlink", "unlinkat", "mkdir", "mkdirat", "truncate", "ftruncate",
	"link", "linkat", "symlinkat", "fallocate", "fchmod", "fchmodat", "copy_file_range"}

// call is one system call of a program's first thread.
type call struct {
	name   string
	number int    // among the thread's calls of this name: what strace counts by
	kind   string // of the place: its path without what differs from book to book
	writes bool
	failed bool // it was made to fail
}

// group is what a call has in common with others: each is tried at least once.
func (c call) group() string { return c.name + " " + c.kind }

var (
	lineForm   = regexp.MustCompile(`^(\d+) +(\w+)\((.*)$`)
	quotedForm = regexp.MustCompile(`"((?:[^"\\]|\\.)*)"`)
	fdForm     = regexp.MustCompile(`^\d+<([^>]*)>`)
)

// trace is what strace wrote of one process.
type trace struct {
	calls     []call // of the first thread, in order
	elsewhere []call // writing calls of other threads: strace counts these by themselves
}

// parseTrace reads strace's output with -f and -y. What lies in root is shortened to its kind.
func parseTrace(text, root string) trace {
	var tr trace
	first := ""
	counts := map[string]int{}
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		m := lineForm.FindStringSubmatch(line)
		if m == nil {
			if strings.Contains(line, "(INJECTED)") && strings.Contains(line, " resumed>") && len(tr.calls) > 0 && strings.HasPrefix(line, first+" ") {
				tr.calls[len(tr.calls)-1].failed = true
			}
			continue
		}
		if first == "" {
			first = m[1]
		}
		c := call{name: m[2], kind: kind(placeOf(m[2], m[3]), root), failed: strings.HasSuffix(line, "(INJECTED)")}
		switch c.name {
		case "openat":
			c.writes = regexp.MustCompile(`O_WRONLY|O_RDWR|O_CREAT|O_TRUNC`).MatchString(m[3]) && c.kind != "/dev/null"
		default:
			c.writes = !strings.HasPrefix(c.kind, "anon_inode:") && !strings.HasPrefix(c.kind, "socket:")
		}
		if m[1] != first {
			if c.writes {
				tr.elsewhere = append(tr.elsewhere, c)
			}
			continue
		}
		counts[c.name]++
		c.number = counts[c.name]
		tr.calls = append(tr.calls, c)
	}
	return tr
}

// placeOf is the path a call works on; for a rename the new one.
func placeOf(name, args string) string {
	if name == "write" || name == "pwrite64" || name == "fsync" || name == "fdatasync" || name == "ftruncate" || name == "fallocate" || name == "fchmod" || name == "copy_file_range" {
		if m := fdForm.FindStringSubmatch(args); m != nil {
			if fd := args[:strings.IndexByte(args, '<')]; (fd == "1" || fd == "2") && name == "write" {
				return map[string]string{"1": "what it prints", "2": "what it says"}[fd]
			}
			return m[1]
		}
		return "?"
	}
	all := quotedForm.FindAllStringSubmatch(args, -1)
	if len(all) == 0 {
		return "?"
	}
	if strings.HasPrefix(name, "rename") || strings.HasPrefix(name, "link") || strings.HasPrefix(name, "symlink") {
		return all[len(all)-1][1]
	}
	return all[0][1]
}

var kinds = []struct {
	form *regexp.Regexp
	text string
}{
	{regexp.MustCompile(`/objects/[0-9a-f]{2}(/|$)`), "/objects/xx$1"},
	{regexp.MustCompile(`/[0-9a-f]{38}$`), "/OBJECT"},
	{regexp.MustCompile(`[0-9a-f]{40}`), "ID"},
	{regexp.MustCompile(`[a-z2-7]{32}(\.[0-9a-f]{16})?`), "LOG"},
	{regexp.MustCompile(`[0-9a-f]{16,64}`), "MARK"},
	{regexp.MustCompile(`(\.last-|\.html\.|\.evidence\.|\.jpg\.|\.tmp-|-)\d+`), "${1}N"},
	{regexp.MustCompile(` \(deleted\)$`), ""},
}

// kind is a path without what differs from book to book and from run to run.
func kind(path, root string) string {
	path = strings.TrimPrefix(strings.TrimPrefix(path, root), "/")
	if !strings.HasPrefix(path, "/") {
		path = "/" + path
	}
	for _, k := range kinds {
		path = k.form.ReplaceAllString(path, k.text)
	}
	for _, plain := range []string{"/dev", "/proc", "/sys"} {
		if strings.HasPrefix(path, plain+"/") {
			return path
		}
	}
	return strings.TrimPrefix(path, "/")
}
