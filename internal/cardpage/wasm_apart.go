//go:build !firlotengine

package cardpage

// embedded is empty in a program that is no release.
const embedded = ""
