package web

// shareComputed are the keys of share.*.toml that code puts together.
func shareComputed() []string { return nil }
