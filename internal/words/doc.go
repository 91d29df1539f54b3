// Package words holds what Firlot says in more than one place, in each of its
// languages, and how a language writes numbers.
//
// The pages of the app and the page of a card share it. It needs no template,
// no regular expression and no TOML library, so that it may be part of a
// program in the browser: its files are TOML of a narrow kind, which [Parse]
// reads.
//
// shared.*.toml are messages by key. engine.*.toml say the sentences of the
// engine in another language; see [Phrase].
package words
