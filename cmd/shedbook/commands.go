package main

// commands is the table everything is made from: dispatch, the overview, help and did-you-mean. Its order is the overview's.
var commands = []func() *command{
	// the book
	newCommand,
	demoCommand,
	peopleListCommand,
	peopleAddCommand,
	peopleKeyCommand,
	farmAddCommand,
	yardAddCommand,
	// machines
	scheduleListCommand,
	scheduleShowCommand,
	scheduleCheckCommand,
	scheduleUseCommand,
	scheduleSetCommand,
	// read
	dueCommand,
	showCommand,
	historyCommand,
}
