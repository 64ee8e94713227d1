package figure

import (
	"strconv"
	"strings"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// heading of a figure about a group: what it shows, of which group and agent.
func titled(what string, names ...string) string {
	var named []string
	for _, n := range names {
		if n = strings.TrimSpace(clean(n)); n != "" {
			named = append(named, n)
		}
	}
	if len(named) == 0 {
		return what
	}
	return what + ": " + strings.Join(named, ", ")
}

// concentration names an axis.
func concentration(u reading.Unit) string {
	if u == "" {
		return "Concentration"
	}
	return "Concentration, " + string(u)
}

// withUnit puts a unit behind a number.
func withUnit(number string, u reading.Unit) string {
	return strings.TrimSpace(number + " " + string(u))
}

// percent writes a fraction as a percentage. What rounds to nothing or to all is said to be less or more.
func percent(fraction float64) string {
	switch {
	case fraction > 0 && fraction < 0.0001:
		return "less than 0.01 %"
	case fraction > 0.9995 && fraction < 1:
		return "more than 99.9 %"
	case fraction == 0 || fraction == 1:
		return reading.Stated(100*fraction) + " %"
	}
	return reading.Figures(100*fraction, 3) + " %"
}

// level writes a stated fraction, such as a confidence, as a percentage.
func level(fraction float64) string { return reading.Stated(100*fraction) + " %" }

// ordinal names a percentile, such as 95th.
func ordinal(fraction float64) string {
	number := reading.Stated(100 * fraction)
	ending := "th"
	if !strings.Contains(number, ".") && !strings.HasSuffix(number, "11") && !strings.HasSuffix(number, "12") && !strings.HasSuffix(number, "13") {
		switch number[len(number)-1] {
		case '1':
			ending = "st"
		case '2':
			ending = "nd"
		case '3':
			ending = "rd"
		}
	}
	return number + ending
}

// count writes a number with its noun.
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.Itoa(n) + " " + noun + "s"
}

// sample says in a line what the readings are.
func sample(c reading.Counts) string {
	words := count(c.Readings, "reading")
	for _, k := range [...]struct {
		n    int
		what string
	}{{c.Below, "below a reporting limit"}, {c.Above, "above the range"}, {c.Between, "between two bounds"}} {
		if k.n > 0 {
			words += ", " + strconv.Itoa(k.n) + " " + k.what
		}
	}
	return words
}

// judged adds the limit to what a line says.
func judged(words string, l *reading.Limit) string {
	if l == nil {
		return words + "; no limit stated"
	}
	return words + "; limit " + withUnit(reading.Stated(l.Value), l.Unit)
}

// limitLines is the label of the limit.
func limitLines(l *reading.Limit) []string {
	return []string{"limit " + withUnit(number(l.Value), l.Unit)}
}

// between writes two limits of a number.
func between(low, high float64) string { return figures3(low) + " to " + figures3(high) }

// percentileLines is the label of the percentile: its estimate and its limits.
func percentileLines(p *report.Percentile, u reading.Unit) []string {
	return []string{ordinal(p.Fraction) + " percentile " + figures3(p.Estimate), level(p.Confidence) + " limits " + between(p.Lower, p.Upper)}
}
