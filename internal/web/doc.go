// Package web is the local app: pages by which a keeper uses the engine in a
// browser on the same machine, offline.
//
// Every change is a native form post that ends in a redirect, so everything
// works without JavaScript; the modules in static only make it quicker. Words
// stand in locale, one file a language. Nothing is loaded from elsewhere, and
// no page holds a script or a style of its own.
//
// routes.go lists the pages. A handler stands in the file of its concept, with
// its templates of the same name.
package web
