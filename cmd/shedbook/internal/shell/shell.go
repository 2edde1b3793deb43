// Package shell holds the scripts by which shells complete the words of shedbook. Each asks the program, `shedbook __complete WORD... =BEGUN`, which answers
// with a line each: a word, a tab and what it is, or ":files" or ":folders" where the shell is to offer its own. They quote what needs it, put no blank behind
// "opener/" or "area=", and do nothing where the program does not answer.
package shell

import "embed"

//go:embed complete.bash complete.zsh complete.fish complete.ps1
var scripts embed.FS

// Names are the shells there are scripts for.
var Names = []string{"bash", "zsh", "fish", "powershell"}

// Script is the script for a shell.
func Script(name string) (string, bool) {
	ending := map[string]string{"bash": "bash", "zsh": "zsh", "fish": "fish", "powershell": "ps1"}[name]
	text, err := scripts.ReadFile("complete." + ending)
	return string(text), err == nil
}
