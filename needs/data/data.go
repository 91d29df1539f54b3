// Package data embeds the needs of each species: one TOML file a species,
// and the list of sources.
package data

import "embed"

// Files holds every TOML file of the needs.
//
//go:embed *.toml
var Files embed.FS
