package main

import (
	"bufio"
	"fmt"
	"math/big"
	"os"
	"unicode"

	"github.com/spf13/cobra"

	"firlot/lp/verify"
)

// verified is what `verify --json` prints.
type verified struct {
	Status    string `json:"status"`
	Objective string `json:"objective,omitempty"` // exact, a fraction
	Bound     string `json:"bound,omitempty"`
	Gap       string `json:"gap,omitempty"`
	Leaves    int    `json:"leaves"`
	Cuts      int    `json:"cuts"`
}

func verifyCommand(s streams) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "verify CERT",
		Short: "Check the certificate of an answer",
		Long: `Checks a certificate that solve --cert has written, in exact fractions and with
code that shares nothing with the solver, and says what it proves: that the mix
keeps every row, sum, step and limit, and that none is better by more than the
gap; or that no mix exists. A certificate that does not prove its claim is
refused with status 2. docs/optimal.md describes the format.`,
		Example: `  firlot solve examples/gerbil-adult.toml --cert adult.cert.json
  firlot verify adult.cert.json`,
		Args: takes(1, 1),
		RunE: func(_ *cobra.Command, args []string) error {
			f, err := os.Open(args[0])
			if err != nil {
				return err
			}
			defer f.Close()
			text := bufio.NewReader(f)
			if !opensObject(text) {
				return fmt.Errorf("%s is not a certificate; firlot solve FILE --cert CERT writes one", args[0])
			}
			r, err := verify.Check(text)
			if err != nil {
				return fmt.Errorf("%s proves nothing: %w", args[0], err)
			}
			if asJSON {
				return s.json(verified{r.Status, fraction(r.Objective), fraction(r.Bound), fraction(r.Gap), r.Leaves, r.Cuts})
			}
			p := &printer{s: s}
			p.para("", proves(r))
			p.para("", fmt.Sprintf("Checked: %s of the search and %s, in exact fractions.",
				plural(r.Leaves, "leaf", "leaves"), plural(r.Cuts, "tangent", "tangents")))
			return p.err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON for programs")
	return c
}

// opensObject reports whether a text begins as JSON's objects do, which
// certificates are, and leaves it unread from there.
func opensObject(r *bufio.Reader) bool {
	for {
		b, err := r.ReadByte()
		switch {
		case err != nil:
			return false
		case b == '{':
			return r.UnreadByte() == nil
		case !unicode.IsSpace(rune(b)):
			return false
		}
	}
}

func fraction(r *big.Rat) string {
	if r == nil {
		return ""
	}
	return r.RatString()
}

// proves says what a sound certificate proves.
func proves(r *verify.Report) string {
	switch {
	case r.Status == "infeasible":
		return "Proved: no point keeps all these rules."
	case r.Gap != nil && r.Gap.Sign() == 0:
		return fmt.Sprintf("Proved: the point keeps every rule exactly, and none is better. Its objective is %s.", near(r.Objective))
	case r.Gap != nil:
		return fmt.Sprintf("Proved: the point keeps every rule exactly, and none is better by more than %s. Its objective is %s.", near(r.Gap), near(r.Objective))
	case r.Objective != nil:
		return fmt.Sprintf("Proved: the point keeps every rule exactly. How good it is, is not proved. Its objective is %s.", near(r.Objective))
	}
	return "Proved: nothing but the bound; there is no point."
}

func near(r *big.Rat) string {
	v, _ := r.Float64()
	return short(v)
}
