// Package web is the local app: pages by which a keeper uses the engine in a
// browser on the same machine, offline.
//
// Every change is a native form post that ends in a redirect, so everything
// works without JavaScript; the modules in static only make it quicker. Words
// stand in locale, one file a language. Nothing is loaded from elsewhere, and
// no page holds a script or a style of its own.
//
// A change of a mix is answered twice: the sentence and the grams come first
// (the header Firlot-Preview asks for them), the saved page with its pictures
// after. What takes seconds, such as finding the ingredient that the shelf
// would miss most, is asked for once the page is still.
//
// What the engine says of a document is English sentences; engine.go says them
// in other languages by a table of locale, which a test holds against the
// engine's code.
//
// routes.go lists the pages. A handler stands in the file of its concept, with
// its templates of the same name.
package web
