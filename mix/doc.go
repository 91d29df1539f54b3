// Package mix is the document of a mix: for whom it is, the batch, the shelf
// lines with their limits, one preference, and the amounts once known.
//
// A [Document] says what its author wrote. [Resolve] turns it into a [Plan]:
// names become forms of the catalogue, species and stage become windows, and
// masses become whole steps of the keeper's scale. What cannot be resolved is
// a [Problem] that names the field, so that whoever read the document can
// name the line.
//
// Package mix/files reads and writes the TOML form.
package mix
