package web

// feedingComputed are the keys of feeding.*.toml that code puts together.
func feedingComputed() []string { return nil }
