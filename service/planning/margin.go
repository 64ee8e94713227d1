package planning

import (
	"math"
	"sync"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/numeric/logmean"
)

// margins are the distances of Land's 95 % limits of the log of the arithmetic mean from the mean of the logs.
type margins struct{ upper, lower margin }

// margin is the distance of one limit as a function of the standard deviation s of the logs, held as s (1+s) times
// polynomials in ln s: it goes like s for small and like s² for large s. A panel is filled when it is first asked for.
type margin [marginPanels]struct {
	once  sync.Once
	ratio series
}

// The polynomials cover s from e^-11.5, 1e-5, to e^6, 400, with a relative error of 1e-9 or less (measured); beyond either
// end they are taken as constant.
const (
	marginPanels = 5
	marginLow    = -11.5
	marginWidth  = 3.5
)

// at returns the margin of n samples at s > 0, NaN when Land's equation could not be solved.
func (m *margin) at(s float64, n int, level float64, f *chebyshev) float64 {
	x := max(0, min(marginPanels, (math.Log(s)-marginLow)/marginWidth))
	i := min(int(x), marginPanels-1)
	panel := &m[i]
	panel.once.Do(func() {
		var values [nodes]float64
		for j, node := range f.node {
			s := math.Exp(marginLow + marginWidth*(float64(i)+0.5*(1+node)))
			d, err := logmean.Land(n, 0, s, level)
			if err != nil {
				d = math.NaN()
			}
			values[j] = d / (s * (1 + s))
		}
		panel.ratio = f.through(&values)
	})
	return s * (1 + s) * panel.ratio.at(2*(x-float64(i))-1)
}

// errMargin says that Land's equation was not solved.
func errMargin() error {
	return &fault.Error{Code: fault.Internal, Text: "no solution for a limit of the arithmetic mean"}
}
