package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"firlot/internal/nearword"
)

// takes says how many arguments a command takes, in its own words.
func takes(least, most int) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch {
		case len(args) < least:
			return fmt.Errorf("something is missing; write %s", c.UseLine())
		case most >= 0 && len(args) > most:
			return fmt.Errorf("%q is one thing too many; write %s", args[most], c.UseLine())
		}
		return nil
	}
}

// family makes a command that only holds others: alone it prints its help, and
// a word that names none of them is a mistake.
func family(c *cobra.Command) {
	c.Args = func(c *cobra.Command, args []string) error {
		if len(args) == 0 {
			return nil
		}
		return noSuchCommand(c, args[0])
	}
	c.RunE = func(c *cobra.Command, _ []string) error { return c.Help() }
}

func noSuchCommand(c *cobra.Command, word string) error {
	var known []string
	for _, sub := range c.Commands() {
		if sub.IsAvailableCommand() {
			known = append(known, sub.Name())
		}
	}
	if len(known) == 0 {
		return fmt.Errorf("%q is one thing too many: %s holds no other commands", word, c.CommandPath())
	}
	return notOneOf("command", word, known)
}

// helpTopics makes help for a command that there is not a mistake.
func helpTopics(root *cobra.Command) {
	root.InitDefaultHelpCmd()
	for _, c := range root.Commands() {
		if c.Name() != "help" {
			continue
		}
		c.Args = func(c *cobra.Command, args []string) error {
			found, rest, err := root.Find(args)
			if err == nil && len(rest) > 0 {
				return noSuchCommand(found, rest[0])
			}
			return err
		}
	}
}

// flagMistake says in plain words what is wrong with a flag.
func flagMistake(c *cobra.Command, err error) error {
	var missing *pflag.NotExistError
	var invalid *pflag.InvalidValueError
	switch {
	case errors.As(err, &missing):
		var known []string
		c.Flags().VisitAll(func(f *pflag.Flag) { known = append(known, "--"+f.Name) })
		if near := nearword.Nearest("--"+missing.GetSpecifiedName(), known); near != "" {
			return fmt.Errorf("%w; did you mean %s?", err, near)
		}
		return fmt.Errorf("%w; %s --help lists the flags", err, c.CommandPath())
	case errors.As(err, &invalid):
		kind := map[string]string{"duration": "a time, such as 20s or 2m", "float64": "a number, such as 0.5", "int": "a whole number", "bool": "true or false"}
		f := invalid.GetFlag()
		return fmt.Errorf("--%s %q is not what it takes: %s", f.Name, strings.TrimSpace(invalid.GetValue()), kind[f.Value.Type()])
	}
	return err
}
