package publish

// syncFolder has nothing to do: Windows offers no sync of a folder, its file
// system journals names itself.
func syncFolder(string) error { return nil }
