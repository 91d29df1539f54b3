//go:build firlotengine

package cardpage

import _ "embed"

// embedded is the engine, built by cmd/firlot-engine.
//
//go:embed engine.txt
var embedded string
