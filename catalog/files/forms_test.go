package files

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"firlot/catalog"
)

var (
	idShape = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`)
	colour  = regexp.MustCompile(`^#[0-9a-f]{6}$`)
)

// TestIdsAndLooks: ids are plain and unique, colours are colours, every form
// says how it looks and how it is drawn.
func TestIdsAndLooks(t *testing.T) {
	c := builtin(t)
	seen := map[string]bool{}
	shapes := map[string]int{}
	for _, in := range c.Ingredients {
		if !idShape.MatchString(in.ID) || seen[in.ID] {
			t.Errorf("ingredient id %q is not plain or stands twice", in.ID)
		}
		seen[in.ID] = true
		if in.Latin == "" && in.Class != catalog.MineralFeed && in.Class != catalog.Other && in.Class != catalog.Animal {
			t.Errorf("%s has no Latin name", in.ID)
		}
		for _, f := range in.Forms {
			if !idShape.MatchString(f.ID) || seen[f.Ref()] {
				t.Errorf("form id %q is not plain or stands twice", f.Ref())
			}
			seen[f.Ref()] = true
			shapes[f.Shape]++
			if f.Looks == "" || f.Shape == "" || len(f.Colours) == 0 {
				t.Errorf("%s lacks looks, a shape or a colour", f.Ref())
			}
			for _, col := range f.Colours {
				if !colour.MatchString(col) {
					t.Errorf("%s: %q is not a colour", f.Ref(), col)
				}
			}
		}
	}
	t.Logf("shapes: %v", shapes)
	for shape, n := range shapes {
		if n < 2 {
			t.Errorf("shape %q is used once; a slip or a shape of its own?", shape)
		}
	}
}

// TestConfusionsNameOtherForms: what a form is taken for is another form of
// the catalogue or an unsafe food, and how to tell them apart is told.
func TestConfusionsNameOtherForms(t *testing.T) {
	c := builtin(t)
	unsafe := map[string]bool{}
	for _, u := range c.Unsafe {
		if unsafe[u.ID] || !idShape.MatchString(u.ID) || c.Ingredient(u.ID) != nil {
			t.Errorf("unsafe id %q is not plain, stands twice or is an ingredient's", u.ID)
		}
		unsafe[u.ID] = true
	}
	n := 0
	for _, f := range c.Forms() {
		for _, x := range f.Confused {
			n++
			if c.Form(x.With) == nil && !unsafe[x.With] || x.With == f.Ref() {
				t.Errorf("%s is confused with %q, which is not known", f.Ref(), x.With)
			}
			if !strings.HasSuffix(x.Tell, ".") {
				t.Errorf("%s: %q does not tell it from %s in a sentence", f.Ref(), x.Tell, x.With)
			}
		}
	}
	t.Logf("%d confusions", n)
}

// TestFormsStandInOrder: every class that is listed holds something, and the
// catalogue lists its forms class by class.
func TestFormsStandInOrder(t *testing.T) {
	c := builtin(t)
	classes := catalog.Classes()
	last := 0
	held := map[catalog.Class]bool{}
	for _, f := range c.Forms() {
		i := slices.Index(classes, f.Ingredient.Class)
		if i < last {
			t.Errorf("%s stands after a later class", f.Ref())
		}
		last = i
		held[f.Ingredient.Class] = true
	}
	for _, k := range classes {
		if !held[k] && k != catalog.Other {
			t.Errorf("no food of class %s", k)
		}
	}
}
