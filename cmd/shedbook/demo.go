package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/pflag"

	"shedbook/cmd/shedbook/internal/demo"
	"shedbook/ledger/gitstore"
)

func demoCommand() *command {
	var seed uint64
	return &command{
		name: "demo", section: "the book", brief: "make a made-up family's book with three seasons in it",
		usage:    []string{"demo DIR"},
		examples: []string{"demo demo-book", "demo /tmp/alder"},
		about: `Writes some 3,000 entries of a family that does not exist, each signed by its own device's key, and prints what is overdue on the book's last day. ` +
			`The made-up keys lie in the folder: nobody should take this book for a real one, and anybody may try things in it.`,
		flags: func(fs *pflag.FlagSet) {
			fs.Uint64Var(&seed, "seed", 1, "another `number` makes another history")
		},
		run: func(c *call) error {
			if len(c.args) != 1 {
				return usage("shedbook demo demo-book", "demo takes the folder to make")
			}
			dir := c.path(c.args[0])
			if entries, err := os.ReadDir(dir); err == nil && len(entries) > 0 {
				return failed("exists", "choose a new folder", "%s is there already and not empty", dir)
			}
			story, err := demo.Tell(seed)
			if err != nil {
				return err
			}
			if err := c.storeDemo(dir, story); err != nil {
				_ = os.RemoveAll(dir)
				return err
			}
			c.say("%s: %d entries of a made-up family, signed by %d devices, to %s\n\n", dir, len(story.Entries()), len(story.Devices), story.LastDay)
			c.books, c.on = []string{dir}, story.LastDay
			due := dueCommand()
			if err := due.run(&call{env: c.env, common: c.common, cmd: due, system: c.system}); err != nil {
				return err
			}
			c.say("\nThree to try:\n")
			for _, line := range []string{"show drill opener/12", "history drill disc --last 10", "did drill grease but 14,31 --dry-run"} {
				c.say("  shedbook %s --book %s\n", line, c.args[0])
			}
			return nil
		},
	}
}

// storeDemo writes a story's runs through the store's own append, in the order they were signed, and lays the devices' keys beside them.
func (c *call) storeDemo(dir string, story *demo.Story) error {
	store, err := gitstore.Create(dir, story.Book)
	if err != nil {
		return failed("not-made", "choose a new folder with room", "no book was made: %v", err)
	}
	defer store.Close()
	err = store.Bulk(func(tx *gitstore.Tx) error {
		for _, r := range story.Runs {
			if err := tx.Append(r.Log, r.Entries); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return failed("not-made", "make room, then say it again", "no book was made: %v", err)
	}
	keys := filepath.Join(dir, "keys")
	if err := os.Mkdir(keys, 0o755); err != nil {
		return err
	}
	notice := "These keys belong to people who do not exist. Anybody may read them: this is a book to try things in, and its signatures prove nothing.\n"
	if err := os.WriteFile(filepath.Join(keys, "MADE-UP.txt"), []byte(notice), 0o644); err != nil {
		return err
	}
	for _, d := range story.Devices {
		if err := os.WriteFile(filepath.Join(keys, d.Writer.String()), d.PEM, 0o600); err != nil {
			return fmt.Errorf("write a made-up key: %w", err)
		}
	}
	local := store.Local()
	local.Units, local.Demo, local.Writer, local.Today = "us", true, story.Devices[0].Writer.String(), story.LastDay
	return store.SetLocal(local)
}
