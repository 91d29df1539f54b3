package chart

// TextWidth estimates how wide a text is at a font size, in px; bold text runs
// wider.
func TextWidth(s string, size float64, inBold bool) float64 {
	return textWidth(s, size) * pick(inBold, bold, 1)
}

// Wrap breaks a text into lines of at most a width in px. A word that is wider
// by itself is broken at its soft hyphens or, failing that, anywhere.
func Wrap(s string, size, width float64, inBold bool) []string {
	if inBold {
		return wrapBold(s, size, width)
	}
	return wrap(s, size, width)
}
