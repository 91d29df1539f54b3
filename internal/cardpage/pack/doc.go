// Package pack makes the engine of a card small: it strips a WebAssembly
// module of what only stack traces need, squeezes it, and writes it as text
// that can stand in a page.
package pack
