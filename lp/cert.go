package lp

// Certificate is a self-contained document that proves the claim of a result.
type Certificate struct {
	data []byte
}

// JSON returns the document.
func (c *Certificate) JSON() []byte { return c.data }
