package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"example.com/tailbound/service"
)

// streams are what a command reads and writes. Answers go to out, everything else to err.
type streams struct {
	in       io.Reader
	out, err io.Writer
	// incomplete is set when rows of readings were left out: an answer without them is an answer, but not to what was asked.
	incomplete *bool
}

// notef tells the user something that is not an answer.
func (s streams) notef(format string, args ...any) {
	_, _ = fmt.Fprintf(s.err, "tailbound: "+format+"\n", args...)
}

// execute runs one command line and returns its exit code.
func execute(ctx context.Context, s streams, args []string) int {
	s.incomplete = new(bool)
	root := newRoot(s)
	root.SetArgs(args)
	root.SetIn(s.in)
	root.SetOut(s.out)
	root.SetErr(s.err)
	started := false
	root.PersistentPreRun = func(*cobra.Command, []string) { started = true }
	err := root.ExecuteContext(ctx)
	if err != nil && !started {
		// What cobra itself refuses, such as an unknown command, is a matter of usage.
		err = usageError{err}
	}
	if err == nil && *s.incomplete {
		return exitUsage
	}
	return conclude(s, err)
}

func newRoot(s streams) *cobra.Command {
	root := &cobra.Command{
		Use:   "tailbound",
		Short: "Judge workplace exposure from few and imperfect readings",
		Long: `Tailbound fits a lognormal to each group of readings, gives the limits of its upper tail
with a stated confidence, and says what a published rule makes of it.

Exit codes: 0 done; 2 usage or bad input, also when the other rows of a table of readings
were answered, or the service refused a group; 3 done, and a group is not compliant (only
with --fail-on not-compliant); 1 anything else.`,
		Example: `  tailbound assess campaign.csv
  tailbound serve --grpc-addr 127.0.0.1:8801 --http-addr 127.0.0.1:8802`,
		Args:          cobra.NoArgs,
		Version:       service.Version(),
		SilenceErrors: true,
		SilenceUsage:  true,
		// Without a subcommand there is nothing to do but to say what there is.
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetVersionTemplate("tailbound {{.Version}}\n")
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	root.AddCommand(
		newServe(s), newAssess(s), newPartition(s), newCompare(s), newPlan(s), newReduce(s), newAirChange(s), newCertify(s), newVersion(s),
	)
	return root
}
