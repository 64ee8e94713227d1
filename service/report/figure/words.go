package figure

import (
	"strconv"
	"strings"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/report/figure/sheet"
)

// heading of a figure about a group: what it shows, of which group and agent.
func titled(what string, names ...string) string {
	var named []string
	for _, n := range names {
		if n = strings.TrimSpace(sheet.Clean(n)); n != "" {
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

// percent writes a fraction as a percentage.
func percent(fraction float64) string { return report.Percent(fraction) }

// level writes a stated fraction, such as a confidence, as a percentage.
func level(fraction float64) string { return report.Level(fraction) + " %" }

// ordinal names a percentile, such as 95th.
func ordinal(fraction float64) string { return report.Ordinal(fraction) }

// count writes a number with its noun.
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.Itoa(n) + " " + noun + "s"
}

// sample says in a line what the readings are.
func sample(c reading.Counts) string {
	words := []string{count(c.Readings, "reading")}
	for _, k := range [...]struct {
		n    int
		what string
	}{{c.Below, "below a reporting limit"}, {c.Above, "above the range"}, {c.Between, "between two bounds"}} {
		if k.n > 0 {
			words = append(words, strconv.Itoa(k.n)+" "+k.what)
		}
	}
	return strings.Join(words, ", ")
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
func percentileLines(p *report.Percentile) []string {
	return []string{ordinal(p.Fraction) + " percentile " + figures3(p.Estimate), level(p.Confidence) + " limits " + between(p.Lower, p.Upper)}
}

// crowded says that markers are left out.
func crowded(words string, n int) string {
	if n > sheet.MostMarkers {
		words += "; where markers would hide each other, some are left out"
	}
	return words
}

// number writes a number as on a scale: without needless digits.
func number(v float64) string { return shortPower(reading.Stated(v)) }

// figures3 writes a result to three figures.
func figures3(v float64) string { return shortPower(reading.Figures(v, 3)) }

// figures4 writes a stated number that may have been converted: to four figures, without needless digits.
func figures4(v float64) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 4, 64), 64)
	if err != nil {
		return number(v)
	}
	return number(rounded)
}

// shortPower takes the needless zeros and signs out of a power of ten.
func shortPower(text string) string {
	mantissa, power, found := strings.Cut(text, "e")
	if exponent, err := strconv.Atoi(power); found && err == nil {
		return mantissa + "e" + strconv.Itoa(exponent)
	}
	return text
}
