// Command bench solves the same generated mixing models with Firlot's solver
// and with others in one run, and prints how long each takes.
//
// bash bench/run installs what it needs and starts it. Without the build tag
// "peers" it is plain Go and knows Firlot's own solver and, given -highs,
// HiGHS; with the tag and cgo it also calls GLPK and CBC. Nothing else in the
// module uses cgo, and nothing imports this program.
package main
