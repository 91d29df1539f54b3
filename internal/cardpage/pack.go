package cardpage

import "io"

// engine writes the engine, packed as [Engine] returns it, into a page.
func engine(w io.Writer, packed []byte) error {
	for _, s := range []string{"<script type=\"application/octet-stream\" id=\"engine\">", string(packed), "</script>\n"} {
		if _, err := io.WriteString(w, s); err != nil {
			return err
		}
	}
	return nil
}
