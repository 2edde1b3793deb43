package main

import (
	"strings"

	"shedbook/cmd/shedbook/internal/shell"
)

type completionJSON struct {
	Format int    `json:"format"`
	Shell  string `json:"shell"`
	Script string `json:"script"`
}

func completionCommand() *command {
	return &command{
		name: "completion", section: "this program", brief: "print a script by which your shell completes words",
		usage: []string{"completion " + strings.Join(shell.Names, "|")},
		examples: []string{
			"completion bash >> ~/.bashrc",
			"completion zsh > ~/.zfunc/_shedbook",
			"completion fish > ~/.config/fish/completions/shedbook.fish",
			"completion powershell >> $PROFILE",
		},
		about: "At once, in the bash that is open: eval \"$(shedbook completion bash)\"\n\n" + `Then the Tab key completes commands, flags, and in a book's folder its machines, places, jobs, settings, parts, yards, people and seasons. It opens no book: it knows what a command on this computer ` +
			"last knew of it.\n\nOpen a new terminal afterwards. For bash, the line eval \"$(shedbook completion bash)\" in ~/.bashrc does the same and never grows old. " +
			"zsh looks into ~/.zfunc, a folder to make, once ~/.zshrc says fpath+=~/.zfunc before its line autoload -U compinit && compinit.",
		run: func(c *call) error {
			if len(c.args) != 1 {
				return usage("shedbook completion bash", "completion takes one shell: %s", commas(shell.Names))
			}
			script, ok := shell.Script(c.args[0])
			if !ok {
				return usage("shedbook completion bash", "there is no script for %q, only for %s%s", c.args[0], commas(shell.Names), didYouMean(c.args[0], shell.Names))
			}
			if c.json {
				return c.printJSON(completionJSON{1, c.args[0], script})
			}
			c.printf("%s", script)
			return nil
		},
	}
}
