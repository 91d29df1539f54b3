// Package find looks up foods by any of their names, in any language, and
// knows which names are refused.
package find

import (
	"fmt"
	"sort"
	"strings"

	"firlot/catalog"
	"firlot/internal/nearword"
)

// Match is a form that answers a search.
type Match struct {
	Form *catalog.Form
	Name string // the name that matched
	Lang string // its language, or "" for an id or the Latin name
}

// The qualities of a match, best first.
const (
	exact = iota
	prefix
	wordStart
	inside
	none
)

// Search finds the forms whose names answer the query, best first: whole
// names, then beginnings, then words inside; forms of one quality keep
// catalogue order. A plural finds the singular. Only where none answers are
// likely misspellings offered, the nearest first; of a reference its
// ingredient's.
func Search(c *catalog.Catalogue, query string) []Match {
	q := nearword.Key(query)
	if q == "" {
		return nil
	}
	type ranked struct {
		Match
		quality int
	}
	one := singular(q)
	var list []ranked
	for _, f := range c.Forms() {
		best := ranked{quality: none}
		for _, n := range c.Called(f) {
			if k := min(quality(q, n.Folded), wholeWords(one, n.Folded)); k < best.quality {
				best = ranked{Match{f, n.Name, n.Lang}, k}
			}
		}
		if best.quality < none {
			list = append(list, best)
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].quality < list[j].quality })
	var out []Match
	for _, r := range list {
		out = append(out, r.Match)
	}
	if len(out) > 0 || len(q) < 4 {
		return out
	}
	if list := nearReference(c, query); len(list) > 0 {
		for _, f := range list {
			out = append(out, Match{Form: f, Name: f.Ref()})
		}
		return out
	}
	return nearest(c, q)
}

// singular takes the plural off every word of a folded query.
func singular(q string) string {
	words := strings.Fields(q)
	for i, w := range words {
		words[i] = nearword.Stem(w)
	}
	return strings.Join(words, " ")
}

// wholeWords is the quality of a match that begins and ends with words.
func wholeWords(q, name string) int {
	switch {
	case q == name:
		return exact
	case strings.HasPrefix(name, q+" "):
		return prefix
	case strings.Contains(name+" ", " "+q+" "):
		return wordStart
	}
	return none
}

// mostNear is how many forms are offered in place of a reference.
const mostNear = 4

// nearReference finds the forms that a misspelt reference such as
// "whaet/whole" may mean: the ingredient before the slash is looked for first,
// then its form.
func nearReference(c *catalog.Catalogue, name string) []*catalog.Form {
	id, form, ok := strings.Cut(name, "/")
	if !ok {
		return nil
	}
	in := c.Ingredient(id)
	if in == nil {
		var ids []string
		for _, x := range c.Ingredients {
			ids = append(ids, x.ID)
		}
		if in = c.Ingredient(nearword.Nearest(id, ids)); in == nil {
			return nil
		}
	}
	var forms []string
	for _, f := range in.Forms {
		forms = append(forms, f.ID)
	}
	if f := in.Form(nearword.Nearest(form, forms)); f != nil {
		return []*catalog.Form{f}
	}
	return in.Forms[:min(len(in.Forms), mostNear)]
}

func quality(q, name string) int {
	switch {
	case q == name:
		return exact
	case strings.HasPrefix(name, q):
		return prefix
	case strings.Contains(name, " "+q):
		return wordStart
	case len(q) >= 3 && strings.Contains(name, q):
		return inside
	}
	return none
}

// mostMisspelt is how many near names a search looks at; one name may belong
// to several forms.
const mostMisspelt = 8

// nearest finds the forms with the names nearest to a folded query.
func nearest(c *catalog.Catalogue, q string) []Match {
	bearers := map[string][]Match{}
	var words []string
	for _, f := range c.Forms() {
		for _, n := range c.Called(f) {
			if bearers[n.Folded] == nil {
				words = append(words, n.Folded)
			}
			bearers[n.Folded] = append(bearers[n.Folded], Match{f, n.Name, n.Lang})
		}
	}
	var out []Match
	seen := map[*catalog.Form]bool{}
	for _, w := range nearword.Near(q, words, mostMisspelt) {
		for _, m := range bearers[w] {
			if !seen[m.Form] {
				seen[m.Form] = true
				out = append(out, m)
			}
		}
	}
	return out
}

// Error says why a name was not resolved.
type Error struct {
	Message string
	Hint    string
}

func (e *Error) Error() string {
	return nearword.Hinted(e.Message, e.Hint)
}

// Resolve turns what a document calls a food into its form. It takes a
// reference ("oats/groats"), the id of an ingredient that has one form, or a
// form's own name in any language when only one form bears it. Unsafe foods
// are refused with their reason.
func Resolve(c *catalog.Catalogue, name string) (*catalog.Form, error) {
	if f := c.Form(name); f != nil {
		return f, nil
	}
	if u := Refused(c, name); u != nil {
		return nil, &Error{fmt.Sprintf("%q is never fed: %s", name, u.Reason), Instead(u)}
	}
	if in := c.Ingredient(name); in != nil {
		if len(in.Forms) == 1 {
			return in.Forms[0], nil
		}
		return nil, &Error{fmt.Sprintf("%q comes in several forms, which analyse differently", name), "say which: " + refs(in.Forms)}
	}
	switch list := byOwnName(c, name); len(list) {
	case 0:
		return nil, &Error{fmt.Sprintf("%q is not in the catalogue", name), suggest(c, name)}
	case 1:
		return list[0], nil
	default:
		return nil, &Error{fmt.Sprintf("%q may be several things", name), "say which: " + refs(list)}
	}
}

func byOwnName(c *catalog.Catalogue, name string) []*catalog.Form {
	q := nearword.Key(name)
	var list []*catalog.Form
	for _, f := range c.Forms() {
		for _, n := range c.Called(f) {
			if n.Folded == q {
				list = append(list, f)
				break
			}
		}
	}
	return list
}

func suggest(c *catalog.Catalogue, name string) string {
	list := nearReference(c, name)
	if in, _, ok := strings.Cut(name, "/"); ok && c.Ingredient(in) != nil {
		all := fmt.Sprintf("%s comes as %s", in, refs(c.Ingredient(in).Forms))
		if len(list) == 1 && len(c.Ingredient(in).Forms) > 1 {
			return fmt.Sprintf("did you mean %q? %s", list[0].Ref(), all)
		}
		return all
	}
	if len(list) == 0 {
		for _, m := range Search(c, name) {
			list = append(list, m.Form)
		}
	}
	var words []string
	for _, f := range list[:min(len(list), mostNear)] {
		words = append(words, fmt.Sprintf("%q", f.Ref()))
	}
	if len(words) == 0 {
		return "firlot catalog search finds a food by any of its names"
	}
	return "did you mean " + strings.Join(words, " or ") + "?"
}

func refs(forms []*catalog.Form) string {
	list := make([]string, len(forms))
	for i, f := range forms {
		list[i] = f.Ref()
	}
	return strings.Join(list, ", ")
}
