package variance

import "example.com/tailbound/service/reading"

// Components returns the estimates of the restricted likelihood alone: no limits, no test and no verdict, at a small part of the
// cost of Partition. what is "zone" or "subject", for the words of an error; errors are those of Partition.
func Components(readings []reading.Reading, by func(reading.Reading) string, what string) (Estimates, error) {
	zones, err := gather(readings, by, what)
	if err != nil {
		return Estimates{}, err
	}
	if err := determined(zones, what); err != nil {
		return Estimates{}, err
	}
	m, err := fitZones(zones)
	if err != nil {
		return Estimates{}, err
	}
	return m.restricted, nil
}

// Above is the estimated chance, 0 to 1, that a randomly chosen zone's own percentile lies above a limit: score is the normal score
// of the percentile, logLimit the natural log of the limit. See question for the formula.
func (e Estimates) Above(score, logLimit float64) float64 {
	return question{limit: logLimit, score: score}.estimate(e.Mu, e.Between, e.Within)
}
