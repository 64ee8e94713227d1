// Tailbound judges workplace exposure from few and imperfect readings: it fits a lognormal to each group, gives the limits of
// its upper tail with a stated confidence, and says what a published rule makes of it. `tailbound serve` runs the service;
// the other commands are its desk, which asks a running service or runs the same one inside the process.
package main

import (
	"context"
	"io"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // --time-zone knows the zones on machines that do not.
)

func main() {
	os.Exit(run(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// run runs the command line until it is done or a signal asks it to stop, and returns the exit code. A second signal ends the
// process at once.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop)
	return execute(ctx, streams{in: stdin, out: stdout, err: stderr}, args)
}
