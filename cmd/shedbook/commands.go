package main

// commands is the table everything is made from: dispatch, the overview, help and did-you-mean. Its order is the overview's.
var commands = []func() *command{
	// the book
	newCommand,
	joinCommand,
	demoCommand,
	peopleListCommand,
	peopleAddCommand,
	peopleAdmitCommand,
	peopleStopCommand,
	peopleKeyCommand,
	peopleRecoverCommand,
	peopleRecoveryCommand,
	farmAddCommand,
	yardAddCommand,
	// machines
	machineAddCommand,
	machineListCommand,
	machineMoveCommand,
	hitchCommand,
	machineLendCommand,
	machineStoreCommand,
	machineSellCommand,
	scheduleListCommand,
	scheduleShowCommand,
	scheduleCheckCommand,
	scheduleUseCommand,
	scheduleSetCommand,
	assumeCommand,
	shelfAddCommand,
	shelfListCommand,
	// in the shed
	counterCommand,
	adjustCommand,
	measureCommand,
	swapCommand,
	didCommand,
	faultCommand,
	repairCommand,
	noteCommand,
	// seasons
	seasonPlanCommand,
	seasonOpenCommand,
	seasonCloseCommand,
	// put right
	correctCommand,
	strikeCommand,
	// read
	dueCommand,
	prepareCommand,
	showCommand,
	historyCommand,
	wearCommand,
	compareCommand,
	specCommand,
	// sharing
	syncCommand,
	auditCommand,
	stampCommand,
	countersignCommand,
	exportCommand,
}
