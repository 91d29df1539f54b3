// Package catalog holds what foods are made of: ingredients, the forms in
// which they are sold, and their figures, each with its source and how well
// it is known.
//
// # Ingredient and form
//
// An [Ingredient] is a plant, an animal or a mineral; a [Form] is how a shop
// sells it: oats in hull, oat groats and rolled oats are three forms of one
// ingredient, and analyse differently. Documents name a form as
// "ingredient/form", for example "oats/groats".
//
// # Figures
//
// A [Figure] has a mean, a standard deviation between bags where a source
// prints one, the number of samples, the source and the kind of evidence.
// Figures stand as fed at the form's own moisture, in the unit that package
// nutrient gives for their key. A missing figure is missing, never zero:
// [Form.Figure] reports whether one is known, and [Form.Bounds] says what an
// unknown one could be.
//
// Where no spread between bags is recorded, [Form.Spread] stands in a
// coefficient of variation for the class of food, widened by how badly the
// figure is known; the table and its sources are in spread.go.
//
// # What is eaten
//
// Animals husk some forms. With hull share h, share r of the hull left
// uneaten, and c the composition, 100 g of the form offered becomes
//
//	(1 − r)·whole + r·(1 − h)·kernel, in all 100·(1 − r·h) g eaten,
//
// which needs no figure for the hull itself and can never turn negative, as
// subtracting one table's hull from another's grain can.
package catalog
