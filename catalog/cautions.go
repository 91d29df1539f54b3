package catalog

// GeneralCautions are said beside every mix. Common practice, no source,
// except where the unsafe list and the inclusion limits give one.
func GeneralCautions() []string {
	return []string{
		"Figures are for ordinary bags, not for yours; a laboratory can tell about yours.",
		"Use food-grade or feed-grade seed. Sowing seed may be dressed with poison, even when it is not coloured.",
		"Throw away what is musty, dusty, webbed or damp. Freezing and toasting do not remove mould poisons.",
		"Change from one food to another over ten days.",
		"A dry mix is a part of the diet: leaves, herbs, hay, insects and fresh water belong beside it.",
		"An animal that loses weight, looks scruffy or has loose droppings needs a veterinarian who knows small mammals, not a recipe.",
		"Whoever sells a mix follows the feed law of the place.",
	}
}
