package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"

	"github.com/spf13/cobra"

	"example.com/tailbound/service/certify"
)

func newCertify(s streams) *cobra.Command {
	var folder string
	var onlyRatios bool
	plan := certify.Certificate(certify.Samples)
	c := &cobra.Command{
		Use:   "certify",
		Short: "Measure by simulation how often the limits cover",
		Long: `Draw groups of readings from known exposures, report them with non-detects and over-range readings, ask
for every limit, and count how often the limits hold the truth. Writes certificate.csv, one row a design,
method and quantity, and CERTIFICATE.md, which explains it, and ratios.csv of pairs of campaigns. The same command writes the same numbers again.

With the default number of samples it takes a quarter of an hour of one processor.`,
		Example: `  tailbound certify --out /tmp --samples 500`,
		Args:    noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if plan.Samples < 1 {
				return usageError{fmt.Errorf("--samples: is %d; accepted is 1 or more", plan.Samples)}
			}
			if isTerminal(s.err) {
				plan.Progress = func(done, all int) { s.notef("%d of %d designs", done, all) }
			}
			var rows []certify.Row
			var err error
			if onlyRatios {
				rows, err = readCertificate(folder)
			} else {
				rows, err = certify.Run(c.Context(), plan)
			}
			if err != nil {
				return err
			}
			ratios, err := certify.RunRatios(c.Context(), certify.PairDesigns(), min(plan.Samples, certify.RatioSamples), plan.Workers)
			if err != nil {
				return err
			}
			return writeCertificate(folder, rows, ratios)
		},
	}
	f := c.Flags()
	f.StringVar(&folder, "out", ".", "write the two files into `FOLDER`")
	f.BoolVar(&onlyRatios, "only-ratios", false, "simulate pairs of campaigns only, and read certificate.csv from the folder")
	f.IntVar(&plan.Samples, "samples", plan.Samples, "draw `N` groups for each design")
	f.IntVar(&plan.Workers, "workers", runtime.NumCPU(), "simulate `N` designs at the same time")
	return c
}

func writeCertificate(folder string, rows []certify.Row, ratios []certify.RatioRow) error {
	err := writeFile(filepath.Join(folder, "certificate.csv"), func(w io.Writer) error { return certify.WriteCSV(w, rows) })
	if err != nil {
		return err
	}
	err = writeFile(filepath.Join(folder, "ratios.csv"), func(w io.Writer) error { return certify.WriteRatios(w, ratios) })
	if err != nil {
		return err
	}
	return writeFile(filepath.Join(folder, "CERTIFICATE.md"), func(w io.Writer) error { return certify.WritePage(w, rows, ratios) })
}

func readCertificate(folder string) ([]certify.Row, error) {
	f, err := os.Open(filepath.Join(folder, "certificate.csv"))
	if err != nil {
		return nil, usageError{err}
	}
	rows, err := certify.ReadCSV(f)
	return rows, errors.Join(err, f.Close())
}

// writeFile writes a new file or replaces one.
func writeFile(name string, write func(w io.Writer) error) error {
	f, err := os.Create(name)
	if err != nil {
		return usageError{err}
	}
	return errors.Join(write(f), f.Close())
}
