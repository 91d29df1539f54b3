// Command firlot turns a shelf of seeds into a recipe in whole grams for
// small seed-eating rodents. See the README for a first run.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	os.Exit(run(ctx, os.Args[1:], terminal()))
}

// Exit statuses.
const (
	exitDone       = 0
	exitFault      = 1 // our fault, or stopped before an answer
	exitUse        = 2 // wrong use, or something wrong in the document
	exitImpossible = 3 // proved: no such mix exists
	exitOutside    = 4 // check: not inside every window
)

// exit is an error that has been reported already and sets the exit status.
type exit struct{ status int }

func (e exit) Error() string { return fmt.Sprintf("exit status %d", e.status) }

// fault marks an error as ours.
type fault struct{ error }

func (f fault) Unwrap() error { return f.error }

// run is the program: its arguments, where it prints, its exit status.
func run(ctx context.Context, args []string, io streams) int {
	root := rootCommand(io)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	var e exit
	var f fault
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, &e):
		return e.status
	case errors.As(err, &f):
		fmt.Fprintln(io.err, plainText(fmt.Sprint("firlot: this is a fault of Firlot's: ", err)))
		return exitFault
	}
	fmt.Fprintln(io.err, plainText(fmt.Sprint("firlot: ", err)))
	return exitUse
}
