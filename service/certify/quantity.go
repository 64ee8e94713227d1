package certify

import (
	"math"

	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
)

// Quantity is what a limit is of.
type Quantity uint8

const (
	// GeometricMean is exp(mu).
	GeometricMean Quantity = iota
	// GeometricStandardDeviation is exp(sigma).
	GeometricStandardDeviation
	// Percentile95 is the 95th percentile.
	Percentile95
	// Exceedance is the fraction above a limit that 10 % of exposures exceed.
	Exceedance
	// ArithmeticMean is exp(mu + sigma²/2).
	ArithmeticMean
)

// String names the quantity in the table.
func (q Quantity) String() string {
	switch q {
	case GeometricMean:
		return "GM"
	case GeometricStandardDeviation:
		return "GSD"
	case Percentile95:
		return "P95"
	case Exceedance:
		return "exceedance"
	case ArithmeticMean:
		return "AM"
	}
	return "unknown"
}

// exceeded is the true exceedance of the limit of Exceedance.
const exceeded = 0.1

// place is where the quantity lies, in standard deviations from the mean of ln reading; GSD has no place.
func (q Quantity) place(sigma float64) float64 {
	switch q {
	case Percentile95:
		return numeric.NormalQuantile(0.95)
	case Exceedance:
		return numeric.NormalQuantile(1 - exceeded)
	case ArithmeticMean:
		return 0.5 * sigma
	case GeometricStandardDeviation:
		return math.NaN()
	default:
		return 0
	}
}

// Side is one of the four limits that are checked for each quantity.
type Side uint8

const (
	// Lower95 is the lower limit with the confidence 0.95, and so on.
	Lower95 Side = iota
	// Lower70 is the lower limit with the confidence 0.70.
	Lower70
	// Upper70 is the upper limit with the confidence 0.70.
	Upper70
	// Upper95 is the upper limit with the confidence 0.95.
	Upper95
	sides
)

// String names the limit.
func (s Side) String() string {
	return [sides]string{"lower 95 %", "lower 70 %", "upper 70 %", "upper 95 %"}[s]
}

// Nominal is the confidence that the limit is given with.
func (s Side) Nominal() float64 {
	if s == Lower70 || s == Upper70 {
		return 0.7
	}
	return 0.95
}

// covered says for each limit whether it covered.
type covered [sides]bool

// byConfidence judges the limits by the confidence that the quantity is at or below its true value: a limit is where that confidence
// passes the level.
func byConfidence(u float64) covered {
	return covered{Lower95: u >= 0.05, Lower70: u >= 0.3, Upper70: u <= 0.7, Upper95: u <= 0.95}
}

// byLimits judges them by the limits themselves.
func byLimits(truth float64, quantile func(p float64) (float64, error)) (covered, error) {
	var c covered
	for side, p := range [sides]float64{Lower95: 0.05, Lower70: 0.3, Upper70: 0.7, Upper95: 0.95} {
		v, err := quantile(p)
		if err != nil {
			return covered{}, err
		}
		if p < 0.5 {
			c[side] = v <= truth
		} else {
			c[side] = v >= truth
		}
	}
	return c, nil
}

// below is the confidence that mu + z sigma <= q. Everything that limits are read from states it.
type below interface {
	Below(z, q float64) float64
}

// direct also states the confidences of sigma and of the mean.
type direct interface {
	SpreadBelow(sigma float64) float64
	LogMeanBelow(mean float64) float64
}

// judge says which limits of a quantity cover when mu = 0. Those of the percentile, the geometric mean and the exceedance are judged
// by the confidence at the truth, of which they are the inverse.
func judge(q Quantity, p fit.Limits, readings []reading.Reading, sigma float64) (covered, error) {
	d, isDirect := p.(direct)
	switch q {
	case GeometricStandardDeviation:
		if isDirect {
			return byConfidence(d.SpreadBelow(sigma)), nil
		}
		return byLimits(sigma, p.Spread)
	case ArithmeticMean:
		truth := 0.5 * sigma * sigma
		if complete(readings) {
			return byLand(readings, truth)
		}
		if isDirect {
			return byConfidence(d.LogMeanBelow(truth)), nil
		}
		return byLimits(truth, p.LogMean)
	default:
		z := q.place(sigma)
		if b, ok := p.(below); ok {
			return byConfidence(b.Below(z, z*sigma)), nil
		}
		return byLimits(z*sigma, func(l float64) (float64, error) { return p.Quantile(z, l) })
	}
}

// complete says whether every reading has a value.
func complete(readings []reading.Reading) bool {
	for i := range readings {
		if readings[i].Kind != reading.Detected {
			return false
		}
	}
	return true
}

// byLand judges the limits of the arithmetic mean that the service gives when nothing is censored.
func byLand(readings []reading.Reading, truth float64) (covered, error) {
	f := fit.Uncensored(readings, nil)
	narrow, err := limit.ArithmeticMean(&f, 0.7)
	if err != nil {
		return covered{}, err
	}
	wide, err := limit.ArithmeticMean(&f, 0.95)
	if err != nil {
		return covered{}, err
	}
	m := math.Exp(truth)
	// A limit beyond the largest float64 is NaN and covers as an upper limit.
	return covered{
		Lower95: !(wide.Lower > m), Lower70: !(narrow.Lower > m), Upper70: !(narrow.Upper < m), Upper95: !(wide.Upper < m),
	}, nil
}
