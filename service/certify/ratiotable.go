package certify

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
)

var ratioHeader = []string{
	"first", "second", "censored", "first_sigma", "second_sigma", "ratio", "samples", "given",
	"covered_lower_95", "covered_upper_95", "lower_95", "upper_95", "error_95", "reasons",
}

// WriteRatios writes the rows of pairs as a table.
func WriteRatios(w io.Writer, rows []RatioRow) error {
	if _, err := fmt.Fprint(w, "# Coverage of limits of ratios by simulation; made by `tailbound certify`, explained in CERTIFICATE.md.\n"); err != nil {
		return err
	}
	c := csv.NewWriter(w)
	if err := c.Write(ratioHeader); err != nil {
		return err
	}
	number := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	share := func(v float64) string { return strconv.FormatFloat(v, 'f', 4, 64) }
	for i := range rows {
		r := &rows[i]
		d, s := r.Design, r.shares()
		if err := c.Write([]string{
			strconv.Itoa(d.First), strconv.Itoa(d.Second), number(d.Censored), number(d.FirstSpread), number(d.SecondSpread), r.Ratio,
			strconv.Itoa(r.Samples), strconv.Itoa(r.Given), strconv.Itoa(r.Lower), strconv.Itoa(r.Upper),
			share(s[0]), share(s[1]), share(chanceError(r.Given, 0.95)), r.Reasons(),
		}); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// ReadRatios reads a table written by WriteRatios; shares and reasons follow from the counts.
func ReadRatios(r io.Reader) ([]RatioRow, error) {
	return readTable(r, "ratios", ratioHeader, parseRatio)
}

func parseRatio(record []string) (RatioRow, error) {
	r := RatioRow{Ratio: record[5]}
	var errs []error
	counts := append(slices.Clone(record[:2]), record[6:10]...)
	for i, to := range []*int{&r.Design.First, &r.Design.Second, &r.Samples, &r.Given, &r.Lower, &r.Upper} {
		v, err := strconv.Atoi(counts[i])
		*to = v
		errs = append(errs, err)
	}
	for i, to := range []*float64{&r.Design.Censored, &r.Design.FirstSpread, &r.Design.SecondSpread} {
		v, err := strconv.ParseFloat(record[2+i], 64)
		*to = v
		errs = append(errs, err)
	}
	return r, errors.Join(errs...)
}

// ratios writes the section of the ratios.
func (p *page) ratios(rows []RatioRow) {
	if len(rows) == 0 {
		return
	}
	p.printf(ratioText, rows[0].Samples, chanceError(rows[0].Samples, 0.95))
	p.printf("| design | ratio | limits given | lower 95 %% | upper 95 %% | reasons |\n|---|---|---|---|---|---|\n")
	for i := range rows {
		r := &rows[i]
		s := r.shares()
		p.printf("| %v | %s | %.1f %% | %.3f | %.3f | %s |\n", r.Design, r.Ratio, 100*float64(r.Given)/float64(r.Samples), s[0], s[1], r.Reasons())
	}
	p.printf("\n")
}

const ratioText = `## Ratios between two campaigns

For each design %d pairs of independent campaigns were drawn, each with one reporting limit or none; the standard error of a coverage
is %.4f. Ratios are the later over the earlier, limits one-sided at 0.95. Confidence 0.70 was not simulated. The counts are in
ratios.csv. A departure beyond ±0.015 names what sets its limits apart from exact ones:

- **Welch**: the degrees of freedom are an approximation.
- **normal margin**: with non-detects the margin of the GM ratio is a normal quantile, as if the spread were known.
- **one spread**: that ratio takes both campaigns to have the same spread, and here they have not.
- **prior**: that of one campaign, explained above.
- **two posteriors**: the difference of two quantities, each with exact limits of its own, has limits that are not exact.
- **selection** and **chance**: as above.

`
