package main

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"shedbook/cmd/shedbook/internal/table"
	"shedbook/ledger"
)

// sixWords are the words by which two people compare a key on the phone.
func sixWords(key ledger.PublicKey) string { return strings.Join(ledger.Words(key), " ") }

// deviceName is what a device is called in a sentence: "the creek laptop (Jo Alder)".
func deviceName(d ledger.Device) string {
	switch {
	case d.Role == ledger.RoleRecovery && d.Label == "" && d.Name == "":
		return "the recovery key"
	case d.Label != "" && d.Name != "":
		return withArticle(table.Clean(d.Label)) + " (" + table.Clean(d.Name) + ")"
	case d.Label != "":
		return withArticle(table.Clean(d.Label))
	case d.Name != "":
		return "the device of " + table.Clean(d.Name)
	}
	return "the device " + d.Writer.String()[:8]
}

// withArticle is "the creek laptop", but "Ash's laptop".
func withArticle(label string) string {
	if r, _ := utf8.DecodeRuneInString(label); unicode.IsUpper(r) {
		return label
	}
	return "the " + label
}

// deviceState says in a word how a device stands.
func deviceState(d ledger.Device) string {
	switch {
	case d.Pending && d.Stopped:
		return "turned away"
	case d.Pending:
		return "asks to take part"
	case d.Stopped:
		return "stopped"
	case d.Founder:
		return "founder"
	case d.Role == ledger.RoleRecovery:
		return "kept apart"
	}
	return "takes part"
}

// leads says whether a device's key may admit and stop others: owners and recovery keys do.
func leads(d ledger.Device) bool { return d.Role == ledger.RoleOwner || d.Role == ledger.RoleRecovery }

// wordsOf takes what somebody typed apart into words, as names and fingerprints are compared: without case, punctuation and repeated blanks.
func wordsOf(text string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }), " ")
}

// devicesNamed finds devices by six words, a device's name, a person's name, or the beginning of a log's name; the first of these that fits anything.
func (b *book) devicesNamed(text string, among func(ledger.Device) bool) []ledger.Device {
	typed := wordsOf(text)
	if typed == "" {
		return nil
	}
	for _, fits := range []func(ledger.Device) bool{
		func(d ledger.Device) bool { return !d.Key.IsZero() && sixWords(d.Key) == typed },
		func(d ledger.Device) bool { return wordsOf(d.Label) == typed },
		func(d ledger.Device) bool { return wordsOf(d.Name) == typed },
		func(d ledger.Device) bool {
			return wordsOf(d.Name+" "+d.Label) == typed || wordsOf(d.Label+" "+d.Name) == typed
		},
		func(d ledger.Device) bool { return len(typed) >= 4 && strings.HasPrefix(d.Writer.String(), typed) },
	} {
		var out []ledger.Device
		for _, d := range b.judged.Devices() {
			if among(d) && fits(d) {
				out = append(out, d)
			}
		}
		if len(out) > 0 {
			return out
		}
	}
	return nil
}

// deviceList names devices in an error, each so that it can be typed.
func deviceList(devices []ledger.Device) string {
	var out []string
	for _, d := range devices[:min(len(devices), 6)] {
		out = append(out, fmt.Sprintf("%s [%s]", strings.TrimPrefix(deviceName(d), "the "), d.Writer.String()[:8]))
	}
	if n := len(devices) - len(out); n > 0 {
		out = append(out, fmt.Sprintf("%d more", n))
	}
	return strings.Join(out, ", ")
}

// deviceWords are the names a device or person goes by, for did-you-mean.
func (b *book) deviceWords(among func(ledger.Device) bool) []string {
	var out []string
	for _, d := range b.judged.Devices() {
		if !among(d) {
			continue
		}
		for _, s := range []string{d.Label, d.Name} {
			if s != "" {
				out = append(out, table.Clean(s))
			}
		}
	}
	return out
}
