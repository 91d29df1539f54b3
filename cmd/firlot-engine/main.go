// Command firlot-engine builds the engine that cards carry and writes it to
// where a release embeds it from:
//
//	go run ./cmd/firlot-engine internal/cardpage/engine.txt
//	go build -tags firlotengine ./cmd/firlot
package main

import (
	"context"
	"fmt"
	"os"

	"firlot/internal/cardpage"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "firlot-engine:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) != 1 {
		return fmt.Errorf("write firlot-engine FILE, from the folder of the sources")
	}
	here, err := os.Getwd()
	if err != nil {
		return err
	}
	text, err := cardpage.BuildEngine(context.Background(), here)
	if err != nil {
		return err
	}
	return os.WriteFile(args[0], []byte(text), 0o644)
}
