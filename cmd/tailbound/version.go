package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"example.com/tailbound/service"
)

func newVersion(s streams) *cobra.Command {
	return &cobra.Command{
		Use:     "version",
		Short:   "Print the version",
		Example: "  tailbound version",
		Args:    noArgs,
		RunE: func(*cobra.Command, []string) error {
			_, err := fmt.Fprintln(s.out, "tailbound", service.Version())
			return err
		},
	}
}
