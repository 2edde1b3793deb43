package record

import (
	"encoding/base64"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

func optional(s, member string, check func(member, s string) error) error {
	if s == "" {
		return nil
	}
	return check(member, s)
}

func checkDone(d Done) error {
	if d == "" {
		return fmt.Errorf("done: when it was done is missing")
	}
	_, err := ParseDone(string(d))
	return err
}

func checkIDText(member, s string) error {
	if !idForm.MatchString(s) {
		return fmt.Errorf("%s: %q is no entry id", member, s)
	}
	return nil
}

func checkID(member string, id ID) error { return checkIDText(member, string(id)) }

func checkIDs(member string, ids []ID) error {
	for i, id := range ids {
		if err := checkID(member, id); err != nil {
			return err
		}
		if slices.Contains(ids[:i], id) {
			return fmt.Errorf("%s: %s stands twice", member, id.Short())
		}
	}
	return nil
}

func checkKey(s string) error {
	if b, err := base64.RawURLEncoding.Strict().DecodeString(s); err != nil || len(b) != 32 {
		return fmt.Errorf("key: no 32 bytes in base64url")
	}
	return nil
}

func checkWord(member, s string) error {
	if !isWord(s) {
		return fmt.Errorf("%s: %q is no name: small letters, digits and - only", member, s)
	}
	return nil
}

func checkName(member, s string) error {
	if strings.TrimSpace(s) == "" {
		return fmt.Errorf("%s: missing", member)
	}
	if len(s) > 200 || strings.Contains(s, "\n") {
		return fmt.Errorf("%s: longer than one short line", member)
	}
	return nil
}

func oneOf(member, s string, allowed ...string) error {
	if !slices.Contains(allowed, s) {
		return fmt.Errorf("%s: %s is none of %s", member, strconv.Quote(s), strings.Join(allowed, ", "))
	}
	return nil
}

func hand(s string) error {
	return optional(s, "hand", checkWord)
}

func notNegative(member string, q Quantity) error {
	if q.Sign() < 0 {
		return fmt.Errorf("%s: %s is below zero", member, q)
	}
	return nil
}

func needs(member string, list []Need) error {
	for _, n := range list {
		if err := checkName(member+".what", n.What); err != nil {
			return err
		}
		if n.Count < 1 || n.Count > 100000 {
			return fmt.Errorf("%s.count: %d is no number of parts", member, n.Count)
		}
	}
	return nil
}
