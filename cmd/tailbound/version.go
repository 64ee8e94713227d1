package main

import (
	"fmt"
	"runtime/debug"

	"github.com/spf13/cobra"
)

func newVersion(s streams) *cobra.Command {
	return &cobra.Command{
		Use:     "version",
		Short:   "Print the version",
		Example: "  tailbound version",
		Args:    noArgs,
		RunE: func(*cobra.Command, []string) error {
			_, err := fmt.Fprintln(s.out, "tailbound", version())
			return err
		},
	}
}

// version is what the build knows of itself: the module's version, or the commit it was built from.
func version() string {
	info, known := debug.ReadBuildInfo()
	if !known {
		return "unknown"
	}
	return info.Main.Version
}
