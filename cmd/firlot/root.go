package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"firlot/catalog"
	catfiles "firlot/catalog/files"
	"firlot/needs"
	needfiles "firlot/needs/files"
)

// streams are where a command prints.
type streams struct {
	out, err io.Writer
	colour   bool
}

func terminal() streams {
	return streams{os.Stdout, os.Stderr, os.Getenv("NO_COLOR") == "" && term.IsTerminal(int(os.Stdout.Fd()))}
}

// bold emphasises text on a terminal.
func (s streams) bold(text string) string {
	if !s.colour {
		return text
	}
	return boldOn + text + boldOff
}

func (s streams) json(v any) error {
	enc := json.NewEncoder(s.out)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

func rootCommand(s streams) *cobra.Command {
	root := &cobra.Command{
		Use:   "firlot",
		Short: "From a shelf of seeds to a recipe in whole grams",
		Long: `Firlot turns what is on a keeper's shelf, and who is being fed, into a dry
mix in whole grams for gerbils, hamsters, mice and rats: inside its windows of
protein, fat and fibre, or with the limits that cannot hold together.

Exit status: 0 done; 1 a fault of Firlot's, or stopped before an answer; 2 wrong
use or something wrong in the document; 3 no such mix exists; 4 (check) not
inside every window.`,
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.SetOut(s.out)
	root.SetErr(s.err)
	root.SetFlagErrorFunc(flagMistake)
	root.SetUsageTemplate(strings.ReplaceAll(root.UsageTemplate(), "Flags.FlagUsages ", fmt.Sprintf("Flags.FlagUsagesWrapped %d ", width)))
	root.AddCommand(openCommand(s), solveCommand(s), checkCommand(s), withoutCommand(s), regionCommand(s), verifyCommand(s), cardCommand(s), receiveCommand(s), portionCommand(s), spoonfulCommand(s), weekCommand(s), baseCommand(s), scoopsCommand(s), catalogCommand(s), needsCommand(s))
	root.InitDefaultCompletionCmd()
	helpTopics(root)
	for _, c := range append(root.Commands(), root) {
		if c.HasSubCommands() {
			family(c)
		}
	}
	return root
}

// tables are the embedded catalogue and needs. That they do not load is a
// fault of ours.
func tables() (*catalog.Catalogue, *needs.Table, error) {
	c, err := catfiles.Builtin()
	if err != nil {
		return nil, nil, fault{err}
	}
	t, err := needfiles.Builtin()
	if err != nil {
		return nil, nil, fault{err}
	}
	return c, t, nil
}
