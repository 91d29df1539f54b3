// Package needs holds what animals need: species, their life stages, and for
// each stage windows on the figures of a dry mix.
//
// A [Window] is a range with its basis, its side (the mix as offered, or as
// eaten once hulls are discarded), its source and how well it is known.
// Sources disagree; all of their windows are kept, exactly one for protein,
// fat and fibre is the default at each stage, and a document can choose
// another or write its own. Minima for minerals, vitamins and amino acids are
// shown and not enforced: a dry seed mix alone never meets them, the leaves,
// herbs, hay and insects beside it bring them.
//
// Nothing here replaces an exotics veterinarian.
package needs
