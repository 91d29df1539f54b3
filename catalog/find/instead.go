package find

import "firlot/catalog"

// Instead says what to feed in place of an unsafe food, or "".
func Instead(u *catalog.Unsafe) string {
	if u.Instead == "" {
		return ""
	}
	return "Instead: " + u.Instead
}
