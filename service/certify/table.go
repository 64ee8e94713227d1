package certify

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"

	"example.com/tailbound/service/fault"
)

// ReadCSV reads a table written by WriteCSV; shares and reasons follow from the counts.
func ReadCSV(r io.Reader) ([]Row, error) { return readTable(r, "coverages", header, parseRow) }

// readTable reads the rows under a header; lines that begin with # are passed over.
func readTable[R any](r io.Reader, what string, header []string, parse func([]string) (R, error)) ([]R, error) {
	c := csv.NewReader(r)
	c.Comment = '#'
	records, err := c.ReadAll()
	if err != nil {
		return nil, err
	}
	if len(records) == 0 || !slices.Equal(records[0], header) {
		return nil, fault.Invalid("", "is not a table of %s: the header is another one", what)
	}
	rows := make([]R, len(records)-1)
	for i := range rows {
		if rows[i], err = parse(records[i+1]); err != nil {
			return nil, fault.Invalid("", "is not a table of %s: line %d: %v", what, i+2, err)
		}
	}
	return rows, nil
}

func parseRow(record []string) (Row, error) {
	var r Row
	var errs [8]error
	r.Design.Reporting, errs[0] = named(record[0], []Reporting{Complete, OneLimit, ThreeLimits, OverRange, Quantification})
	r.Design.Readings, errs[1] = strconv.Atoi(record[1])
	r.Design.Censored, errs[2] = strconv.ParseFloat(record[2], 64)
	r.Method = record[3]
	r.Quantity, errs[3] = named(record[4], quantities)
	if record[5] != "" {
		r.GSD, errs[4] = strconv.ParseFloat(record[5], 64)
	}
	r.Samples, errs[5] = strconv.Atoi(record[6])
	r.Given, errs[6] = strconv.Atoi(record[7])
	for s := range sides {
		r.Covered[s], errs[7] = strconv.Atoi(record[8+int(s)])
		if errs[7] != nil {
			break
		}
	}
	return r, errors.Join(errs[:]...)
}

// named finds the one of the values that has the name.
func named[T fmt.Stringer](name string, values []T) (T, error) {
	for _, v := range values {
		if v.String() == name {
			return v, nil
		}
	}
	var none T
	return none, fmt.Errorf("%q is not known", name)
}

// header names the columns of the table.
var header = []string{
	"reporting", "readings", "censored", "method", "quantity", "gsd", "samples", "given",
	"covered_lower_95", "covered_lower_70", "covered_upper_70", "covered_upper_95",
	"lower_95", "lower_70", "upper_70", "upper_95", "error_95", "error_70", "reasons",
}

// WriteCSV writes the rows as a table with comment lines that say what it is. gsd is empty where the coverage does not depend on it.
func WriteCSV(w io.Writer, rows []Row) error {
	_, err := fmt.Fprint(w, "# Coverage of confidence limits by simulation; made by `tailbound certify`, explained in CERTIFICATE.md.\n"+
		"# covered_* are counts among the samples given, lower_* and upper_* the shares, error_* their standard errors.\n"+
		"# reasons: of departures beyond 0.015, for each limit that departs.\n")
	if err != nil {
		return err
	}
	c := csv.NewWriter(w)
	if err := c.Write(header); err != nil {
		return err
	}
	for i := range rows {
		if err := c.Write(rows[i].record()); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

func (r *Row) record() []string {
	d := r.Design
	out := []string{
		d.Reporting.String(), strconv.Itoa(d.Readings), strconv.FormatFloat(d.Censored, 'f', -1, 64), r.Method, r.Quantity.String(),
		r.gsd(), strconv.Itoa(r.Samples), strconv.Itoa(r.Given),
	}
	for s := range sides {
		out = append(out, strconv.Itoa(r.Covered[s]))
	}
	for s := range sides {
		out = append(out, r.share(r.Coverage(s)))
	}
	return append(out, r.share(r.Error(Lower95)), r.share(r.Error(Lower70)), r.departures())
}

// share writes a share of the limits given; nothing where none was.
func (r *Row) share(v float64) string {
	if r.Given == 0 {
		return ""
	}
	return strconv.FormatFloat(v, 'f', 4, 64)
}

func (r *Row) gsd() string {
	if r.GSD == 0 {
		return ""
	}
	return strconv.FormatFloat(r.GSD, 'f', -1, 64)
}

// departures lists the reasons of each limit that departs.
func (r *Row) departures() string {
	out := ""
	for s := range sides {
		if !r.Departs(s) {
			continue
		}
		if out != "" {
			out += "; "
		}
		why := r.Reasons(s).String()
		if why == "" {
			why = "unexplained"
		}
		out += s.String() + ": " + why
	}
	return out
}
