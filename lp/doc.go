// Package lp finds the best point of a small linear program with whole
// numbers, switches, count limits and second-order cones, and proves it.
package lp
