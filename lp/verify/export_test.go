package verify

// ReferenceCheck is the plain check in fractions, for the tests outside.
var ReferenceCheck = referenceCheck
