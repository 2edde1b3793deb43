package gitstore

const quarantineDir = "quarantine"

func openRemote(address, quarantine string, o SyncOptions) (target, error) {
	return nil, noExchange(withoutSecrets(address), nil, "addresses cannot be reached yet; use a folder")
}
