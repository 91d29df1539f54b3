// Package data embeds the composition catalogue: one TOML file per
// ingredient, the unsafe list and the list of sources. CONTRIBUTING.md says
// how to add one without knowing Go.
package data

import "embed"

// Files holds every TOML file of the catalogue.
//
//go:embed *.toml
var Files embed.FS
