package main

import (
	"regexp"
	"strings"

	"github.com/spf13/cobra"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/table"
)

// fileFlags say how the files of a command are written, as far as it is known, and whether a bad row refuses them.
type fileFlags struct {
	format table.Format
	strict bool
	// columns says what the columns of a table of results hold that are not called by their own names.
	columns map[string]string
	// unit is that of results whose row states none.
	unit string
}

func (f *fileFlags) flags(c *cobra.Command) {
	flags := c.Flags()
	flags.StringVar(&f.format.Encoding, "encoding", "", "the encoding of the files, `utf-8|utf-16le|utf-16be|windows-1252` (default found out)")
	flags.StringVar(&f.format.Delimiter, "delimiter", "", "what separates cells, `comma|semicolon|tab|bar` or the character itself (default found out)")
	flags.StringVar(&f.format.DecimalMark, "decimal-mark", "", "what separates decimals, `point|comma` or the character itself (default found out)")
	flags.StringVar(&f.format.DateOrder, "date-order", "", "the order of dates, `year-month-day|day-month-year|month-day-year` (default found out, if the rows prove it)")
	flags.StringVar(&f.format.TimeZone, "time-zone", "", "where the clock stood of times without a zone, as `ZONE`: +01:00 or Europe/Paris (default UTC)")
	flags.BoolVar(&f.strict, "strict", false, "refuse a file in which a row is rejected, instead of leaving the row out and telling it")
	completeWith(c, "encoding", "utf-8", "utf-16le", "utf-16be", "windows-1252")
	completeWith(c, "delimiter", "comma", "semicolon", "tab", "bar")
	completeWith(c, "decimal-mark", "point", "comma")
	completeWith(c, "date-order", "year-month-day", "day-month-year", "month-day-year")
}

// columnFlag adds the flag that names columns, for commands that read results.
func (f *fileFlags) columnFlag(c *cobra.Command) {
	c.Flags().StringToStringVar(&f.columns, "columns", nil, "columns that are not called by their own names, as `ROLE=NAME,…`, such as result=Konzentration,zone=Raum")
	c.Flags().Lookup("columns").DefValue = "" // Help would write it as [].
	c.Flags().StringVar(&f.unit, "unit", "", "the `UNIT` of results whose row states none; the column unit may then be absent")
}

// stated is the format of the flags, with characters in the place of words.
func (f *fileFlags) stated() (table.Format, error) {
	format := f.format
	format.Encoding = strings.ToLower(format.Encoding)
	format.Delimiter = character(format.Delimiter, map[string]string{"comma": ",", "semicolon": ";", "tab": "\t", `\t`: "\t", "bar": "|"})
	format.DecimalMark = character(format.DecimalMark, map[string]string{"comma": ",", "point": "."})
	return format, underFlags(format.Check())
}

func character(text string, words map[string]string) string {
	if c, known := words[strings.ToLower(text)]; known {
		return c
	}
	return text
}

// underFlags names the flags of fields: --date-order for dateOrder.
func underFlags(err error) error {
	words := regexp.MustCompile("[A-Z]")
	return fault.Reworded(err, func(v fault.Violation) fault.Violation {
		return fault.Violation{Field: "--" + strings.ToLower(words.ReplaceAllString(v.Field, "-$0")), Text: v.Text}
	})
}

// tellGuesses says how a file was taken that is not written in the usual way.
func tellGuesses(s streams, file string, guesses []table.Guess) {
	for _, g := range guesses {
		if !g.Usual {
			s.notef("note: %s: %s", file, g.Text)
		}
	}
}

// tellRejected lists and counts the rows that were left out.
func tellRejected(s streams, rejected *table.Rejected, rows int64) {
	for _, r := range rejected.First {
		s.notef("rejected: %s", r)
	}
	if more := rejected.More(); more > 0 {
		s.notef("rejected: and %d more", more)
	}
	if text := rejected.Text(rows); text != "" {
		s.notef("%s With --strict the file is refused instead.", text)
	}
}
