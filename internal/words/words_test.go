package words

import (
	"fmt"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/pelletier/go-toml/v2"
	"pgregory.net/rapid"
)

// TestFilesAreReadAsTOMLIs reads every file with a TOML library too.
func TestFilesAreReadAsTOMLIs(t *testing.T) {
	names, err := fs.Glob(Files, "*.toml")
	if err != nil || len(names) < 3 {
		t.Fatalf("%v, %v", names, err)
	}
	for _, name := range names {
		text, err := Files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Parse(string(text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var raw map[string]any
		if err := toml.Unmarshal(text, &raw); err != nil {
			t.Fatal(err)
		}
		want := Table{}
		for k, v := range raw {
			switch v := v.(type) {
			case string:
				want[k] = Message{Other: v}
			case map[string]any:
				str := func(form string) string { s, _ := v[form].(string); return s }
				want[k] = Message{str("one"), str("many"), str("other")}
			}
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
}

func TestBadFilesAreRefused(t *testing.T) {
	for _, bad := range []string{"no sign", `key = 'x'`, `key = "x`, "[a]\nfew = \"x\"", `"key = "x"`, `"a" "b"`} {
		if got, err := Parse(bad); err == nil {
			t.Errorf("%q is read as %v", bad, got)
		}
	}
}

var verbs = regexp.MustCompile(`%(\.\d)?[a-z]|%%`)

// pattern is a regular expression for what a format prints: another way to
// the same end as Match.
func pattern(format string) *regexp.Regexp {
	var b strings.Builder
	b.WriteString("^")
	at := 0
	for _, m := range verbs.FindAllStringIndex(format, -1) {
		b.WriteString(regexp.QuoteMeta(format[at:m[0]]))
		switch format[m[0]:m[1]] {
		case "%%":
			b.WriteString("%")
		case "%d":
			b.WriteString(`(-?\d+?)`)
		case "%q":
			b.WriteString(`("(?:[^"\\]|\\.)*")`)
		default:
			b.WriteString(`(.+?)`)
		}
		at = m[1]
	}
	return regexp.MustCompile(b.String() + regexp.QuoteMeta(format[at:]) + "$")
}

func TestMatchingIsThatOfARegularExpression(t *testing.T) {
	var formats []string
	for _, p := range Phrases("es") {
		formats = append(formats, p.Format)
	}
	rapid.Check(t, func(rt *rapid.T) {
		format := rapid.SampledFrom(formats).Draw(rt, "format")
		base := format
		if rapid.Bool().Draw(rt, "another") {
			base = rapid.SampledFrom(formats).Draw(rt, "base")
		}
		text := verbs.ReplaceAllStringFunc(base, func(v string) string {
			switch v {
			case "%%":
				return "%"
			case "%d":
				return fmt.Sprint(rapid.IntRange(-99, 999).Draw(rt, "n"))
			case "%q":
				return fmt.Sprintf("%q", rapid.StringMatching(`[a-z/ "\\ñ]{0,6}`).Draw(rt, "q"))
			}
			return rapid.SampledFrom([]string{"12.5 g", "oats/groats", "is", "of 3 of", "x"}).Draw(rt, "s")
		})
		m := pattern(format).FindStringSubmatch(text)
		got, ok := Match(format, text)
		if ok != (m != nil) {
			rt.Fatalf("%q in %q: %v, the expression says %q", format, text, ok, m)
		}
		if ok && !slices.Equal(got, m[1:]) {
			rt.Fatalf("%q in %q: %q, the expression says %q", format, text, got, m[1:])
		}
	})
}

func TestWhatFormatsPrintIsTakenApart(t *testing.T) {
	for _, c := range []struct {
		format, text string
		want         []string
	}{
		{"%d is above most_ingredients of %d", "12 is above most_ingredients of 3", []string{"12", "3"}},
		{"the inclusion limit of %v %%", "the inclusion limit of 7.5 %", []string{"7.5"}},
		{"%q is not known", `"a \"b\" is not known" is not known`, []string{`"a \"b\" is not known"`}},
		{"%.1f kB of %s", "104.5 kB of it", []string{"104.5", "it"}},
		{"nothing", "nothing", nil},
	} {
		if got, ok := Match(c.format, c.text); !ok || !slices.Equal(got, c.want) {
			t.Errorf("%q: %q, %v", c.text, got, ok)
		}
	}
}

func TestAPhraseWithinAPhrase(t *testing.T) {
	b := In("es")
	name := func(ref string) string {
		return map[string]string{"oats/groats": "avena pelada"}[ref]
	}
	got := Plain(b.Engine("oats/groats is left out: it is to be nothing or at least 30 g, and the inclusion limit of 2.5 % is 25 g", name))
	want := "avena pelada queda fuera: ha de ser nada o al menos 30\u00a0g, y el límite de inclusión del 2,5 % es de 25\u00a0g"
	if got != want {
		t.Errorf("%q", got)
	}
	if runs := b.Engine("something that nobody says", name); len(runs) != 1 || !runs[0].English {
		t.Errorf("%v", runs)
	}
	if got := Plain(In("en").Engine("as it is", name)); got != "as it is" {
		t.Errorf("%q", got)
	}
}

func TestPlurals(t *testing.T) {
	for _, c := range []struct {
		lang string
		n    int
		want string
	}{{"en", 1, "1 ingredient"}, {"en", 0, "0 ingredients"}, {"es", 11, "11 ingredientes"}, {"es", 1_000_000, "1\u202f000\u202f000 de ingredientes"}} {
		if got := In(c.lang).N("ingredients", c.n); got != c.want {
			t.Errorf("%s %d: %q, want %q", c.lang, c.n, got, c.want)
		}
	}
}

// TestAValueIsNeverRead puts text in that looks like a place to put text in.
func TestAValueIsNeverRead(t *testing.T) {
	if got := In("en").T("and", "A", "{{.B}}", "B", "{{.A}}"); got != "{{.B}} and {{.A}}" {
		t.Errorf("%q", got)
	}
}
