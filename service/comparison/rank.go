package comparison

import (
	"cmp"
	"math"
	"slices"

	"example.com/tailbound/service/reading"
)

// rankTests are the generalized Wilcoxon test of Peto and Peto and the log-rank test (Peto and Peto 1972, JRSS A 135, 185; Harrington
// and Fleming 1982, Biometrika 69, 553, with rho 1 and 0; from memory). Turned upside down, a reading below a limit is one whose
// time is only known to be longer. A reading with the value of a limit counts as larger than one below it.
func rankTests(a, b []reading.Reading) (wilcoxon, logRank Test) {
	wilcoxon, logRank = absent("generalized Wilcoxon (Peto-Peto)"), absent("log-rank")
	lives := make([]life, 0, len(a)+len(b))
	for i, group := range [][]reading.Reading{a, b} {
		for _, r := range group {
			switch {
			case r.Kind == reading.Detected:
				lives = append(lives, life{at: r.Lower, ends: true, later: i == 1})
			case r.Kind == reading.Above, r.Lower > 0:
				return wilcoxon, logRank
			default:
				lives = append(lives, life{at: r.Upper, later: i == 1})
			}
		}
	}
	// From the largest down; at one value, those that end come before those that are only known to go on.
	slices.SortFunc(lives, func(x, y life) int { return cmp.Compare(y.at, x.at) })
	var first, second score
	survival := 1.0
	atRisk, later := float64(len(lives)), float64(len(b))
	for i := 0; i < len(lives); {
		e := event{atRisk: atRisk, laterAtRisk: later}
		for at := lives[i].at; i < len(lives) && lives[i].at == at; i++ {
			e.take(lives[i])
		}
		if e.ended > 0 {
			first.add(survival, e)
			second.add(1, e)
			survival *= 1 - e.ended/atRisk
		}
		atRisk -= e.gone
		later -= e.laterGone
	}
	return first.test(wilcoxon.Name), second.test(logRank.Name)
}

// life is a reading turned upside down.
type life struct {
	at          float64
	ends, later bool
}

// event is all that happens at one value.
type event struct {
	atRisk, laterAtRisk float64
	ended, laterEnded   float64
	gone, laterGone     float64
}

func (e *event) take(l life) {
	e.gone++
	if l.later {
		e.laterGone++
	}
	if !l.ends {
		return
	}
	e.ended++
	if l.later {
		e.laterEnded++
	}
}

// score is observed less expected of the later campaign, weighted, with its variance under the hypergeometric law.
type score struct{ sum, variance float64 }

func (s *score) add(weight float64, e event) {
	share := e.laterAtRisk / e.atRisk
	s.sum += weight * (e.laterEnded - e.ended*share)
	if e.atRisk > 1 {
		s.variance += weight * weight * e.ended * share * (1 - share) * (e.atRisk - e.ended) / (e.atRisk - 1)
	}
}

func (s *score) test(name string) Test {
	if !(s.variance > 0) {
		return absent(name)
	}
	x := s.sum * s.sum / s.variance
	return Test{Name: name, Statistic: x, Freedom: []float64{1}, PValue: chiSquareTail(math.Max(x, 0))}
}
