package ration

// Sign is something that a keeper sees and writes down.
type Sign string

// The signs, with the caution list first.
const (
	LooseStool   Sign = "loose-stool"
	NoStool      Sign = "no-stool"
	WetTail      Sign = "wet-tail"
	NotEating    Sign = "not-eating"
	DrinksMuch   Sign = "drinks-much"
	Hunched      Sign = "hunched"
	Teeth        Sign = "teeth"
	HardBreath   Sign = "hard-breathing"
	Fit          Sign = "fit"
	Lump         Sign = "lump"
	Blood        Sign = "blood"
	Scruffy      Sign = "scruffy"
	SmallStool   Sign = "small-stool"
	NormalStool  Sign = "normal-stool"
	SortsTheFood Sign = "sorts-the-food"
	Hoards       Sign = "hoards"
	Other        Sign = "other"
)

// SignInfo says what a sign is and whether it calls for a veterinarian.
type SignInfo struct {
	Sign Sign
	Name string
	// Vet: see a veterinarian, whatever the figures say.
	Vet bool
}

// Signs lists every sign; those on the caution list come first. Which signs
// call for a veterinarian is a clinical habit, recalled: small rodents hide
// illness and fail within days.
func Signs() []SignInfo {
	return []SignInfo{
		{LooseStool, "loose or watery droppings", true},
		{NoStool, "no droppings", true},
		{WetTail, "wet or soiled under the tail", true},
		{NotEating, "does not eat", true},
		{DrinksMuch, "drinks or wets much more than before", true},
		{Hunched, "sits hunched, moves little", true},
		{Teeth, "long, broken or crooked teeth, wet chin", true},
		{HardBreath, "breathes hard or clicks", true},
		{Fit, "a fit, or walks unsteadily", true},
		{Lump, "a lump or swelling", true},
		{Blood, "blood", true},
		{Scruffy, "scruffy or thinning coat", true},
		{SmallStool, "small or few droppings", true},
		{NormalStool, "droppings firm, dark and even", false},
		{SortsTheFood, "picks the bowl over", false},
		{Hoards, "carries food off", false},
		{Other, "something else", false},
	}
}

// Info is what is known of a sign. It reports false for a word that is none.
func (s Sign) Info() (SignInfo, bool) {
	for _, i := range Signs() {
		if i.Sign == s {
			return i, true
		}
	}
	return SignInfo{}, false
}
