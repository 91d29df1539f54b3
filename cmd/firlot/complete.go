package main

import "github.com/spf13/cobra"

// documents completes the name of a mix document.
func documents(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return []string{"toml"}, cobra.ShellCompDirectiveFilterFileExt
}

// speciesAndStages completes a species, and after it one of its stages.
func speciesAndStages(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	_, t, err := tables()
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	var words []string
	switch len(args) {
	case 0:
		for _, s := range t.Species {
			words = append(words, s.ID)
		}
	case 1:
		if s := t.Find(args[0]); s != nil {
			for _, st := range s.Stages {
				words = append(words, st.ID)
			}
		}
	}
	return words, cobra.ShellCompDirectiveNoFileComp
}

// forms completes a reference to a form.
func forms(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	c, _, err := tables()
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	var refs []string
	if len(args) == 0 {
		for _, f := range c.Forms() {
			refs = append(refs, f.Ref())
		}
	}
	return refs, cobra.ShellCompDirectiveNoFileComp
}
