package main

import (
	"bytes"
	"context"
	"path/filepath"
	"slices"
	"testing"
)

// exampleFiles lists the example documents.
func exampleFiles(t *testing.T) []string {
	t.Helper()
	list, err := filepath.Glob("../../examples/*.toml")
	if err != nil || len(list) < 10 {
		t.Fatalf("there are %d examples (%v); at least ten belong there", len(list), err)
	}
	return list
}

// runFirlot runs the program in this process and returns what it prints and
// its exit status.
func runFirlot(t *testing.T, args ...string) (stdout, stderr []byte, status int) {
	t.Helper()
	var out, errs bytes.Buffer
	status = run(context.Background(), args, streams{out: &out, err: &errs})
	return out.Bytes(), errs.Bytes(), status
}

// mustRun runs the program and fails unless its exit status is among those
// wanted.
func mustRun(t *testing.T, args []string, want ...int) []byte {
	t.Helper()
	out, errs, status := runFirlot(t, args...)
	if !slices.Contains(want, status) {
		t.Fatalf("firlot %q: exit status %d, want one of %v; %s", args, status, want, errs)
	}
	return out
}
