package report

import (
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/reading"
)

// figures is the number of significant figures for people.
const figures = 3

// Answer is what became of one group: an assessment, or the reason why there is none.
type Answer struct {
	// Name and Agent are as asked.
	Name, Agent string
	// Assessment is nil when the group was refused.
	Assessment *Assessment
	// Refusal is a plain sentence; read only without an assessment.
	Refusal string
}

// verdict is the outcome of an answer, in capitals where someone has to act.
func (a *Answer) verdict() string {
	switch {
	case a.Assessment == nil:
		return "REFUSED"
	case a.Assessment.Decision == nil:
		return decision.NoOutcome.String()
	}
	return verdictOf(a.Assessment.Decision.Outcome)
}

func verdictOf(o decision.Outcome) string {
	if o == decision.NotCompliant {
		return strings.ToUpper(o.String())
	}
	return o.String()
}

// title names the group and the agent, as far as they have names.
func (a *Answer) title() string {
	names := slices.DeleteFunc([]string{plain(a.Name), plain(a.Agent)}, func(s string) bool { return s == "" })
	if len(names) == 0 {
		return "the readings"
	}
	return strings.Join(names, ", ")
}

// plain replaces what would break a line or steer a terminal.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, s)
}

// withUnit puts a unit behind a number.
func withUnit(number string, unit reading.Unit) string {
	return strings.TrimSpace(number + " " + plain(string(unit)))
}

// hundredths writes a fraction of 0..1 as a percentage. What rounds to nothing or to all is said to be less or more.
func hundredths(fraction float64) string {
	switch {
	case fraction > 0 && fraction < 0.0001:
		return "<0.01"
	case fraction > 0.9995 && fraction < 1:
		return ">99.9"
	}
	return reading.Figures(100*fraction, figures)
}

// Percent writes a fraction of 0..1 as a percentage. What rounds to nothing or to all is said to be less or more, and a NaN is a dash.
func Percent(fraction float64) string {
	if math.IsNaN(fraction) {
		return hundredths(fraction)
	}
	return hundredths(fraction) + " %"
}

// Level writes a confidence or the fraction of a percentile, such as 0.95, as a percentage without needless digits.
func Level(fraction float64) string { return reading.Stated(100 * fraction) }

// Ordinal writes the name of a percentile, such as 95th or 99.9th.
func Ordinal(fraction float64) string {
	number := Level(fraction)
	switch {
	case strings.Contains(number, ".") || strings.HasSuffix(number, "11") || strings.HasSuffix(number, "12") || strings.HasSuffix(number, "13"):
		return number + "th"
	case strings.HasSuffix(number, "1"):
		return number + "st"
	case strings.HasSuffix(number, "2"):
		return number + "nd"
	case strings.HasSuffix(number, "3"):
		return number + "rd"
	}
	return number + "th"
}

// count writes a number with its noun.
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return reading.Figures(float64(n), 1) + " " + noun + "s"
}

// Wrap breaks a text into lines of at most width characters, the first after first and the others after rest. A word longer
// than the line stands alone. A number is not parted from its %.
func Wrap(text, first, rest string, width int) string {
	var out strings.Builder
	out.WriteString(first)
	column := utf8.RuneCountInString(first)
	start := true
	for _, word := range words(text) {
		length := utf8.RuneCountInString(word)
		switch {
		case start:
			start = false
		case column+1+length > width:
			out.WriteString("\n" + rest)
			column = utf8.RuneCountInString(rest)
		default:
			out.WriteByte(' ')
			column++
		}
		out.WriteString(word)
		column += length
	}
	out.WriteByte('\n')
	return out.String()
}

// words splits a text at its spaces, but for the one before a %.
func words(text string) []string {
	var out []string
	for word := range strings.FieldsSeq(plain(text)) {
		if strings.HasPrefix(word, "%") && len(out) > 0 {
			out[len(out)-1] += " " + word
			continue
		}
		out = append(out, word)
	}
	return out
}

// spelled writes the paths of quantities in the contract as words: fit.geometricMean as "geometric mean". The unit of an agent
// is no path.
func spelled(quantity string) string {
	if strings.HasPrefix(quantity, "unit of ") {
		return quantity
	}
	var out strings.Builder
	var last rune
	for _, r := range strings.ReplaceAll(quantity, "fit.", "") {
		switch {
		case r == '.':
			out.WriteByte(',')
			r = ' '
		case unicode.IsUpper(r) && last != 0 && last != ' ', unicode.IsDigit(r) && unicode.IsLower(last):
			out.WriteByte(' ')
		}
		out.WriteRune(unicode.ToLower(r))
		last = r
	}
	return out.String()
}
