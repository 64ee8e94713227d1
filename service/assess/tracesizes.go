package assess

import (
	"math"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/numeric"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// Fraction is a health-related fraction of airborne particles.
type Fraction uint8

const (
	// AnyFraction is one that is not stated.
	AnyFraction Fraction = iota
	// Inhalable particles are breathed in through nose and mouth.
	Inhalable
	// Thoracic particles pass the larynx.
	Thoracic
	// Respirable particles reach the unciliated airways.
	Respirable
)

// String names the fraction, as in "the respirable fraction".
func (f Fraction) String() string {
	return [...]string{AnyFraction: "stated", Inhalable: "inhalable", Thoracic: "thoracic", Respirable: "respirable"}[f]
}

// ParticleSizes is the range of aerodynamic diameters in µm that a sensor sees.
type ParticleSizes struct{ Lower, Upper float64 }

func (s *ParticleSizes) check() error {
	switch {
	case s == nil:
		return nil
	case !(s.Lower >= 0) || math.IsInf(s.Lower, 1):
		return fault.Invalid("particleSizes.lower", "is %v; accepted is a finite number of µm that is not negative", s.Lower)
	case !(s.Upper > s.Lower) || math.IsInf(s.Upper, 1):
		return fault.Invalid("particleSizes.upper", "is %v; accepted is a finite number of µm above the lower end, %v", s.Upper, s.Lower)
	}
	return nil
}

// Convention returns the share of the particles of an aerodynamic diameter in µm that belong to a fraction, 0 to 1, by ISO 7708:1995:
// inhalable are (1 + exp(−0.06 d)) / 2 of them, up to 100 µm; of these the part above d of a lognormal distribution is thoracic, with
// a median of 11.64 µm, and respirable, with one of 4.25 µm, both with a geometric standard deviation of 1.5 (from memory; the
// respirable median and deviation as in the glossary at http://www.speciation.net). Half of the particles of 10 µm are then
// thoracic and half of those of 4 µm respirable, as is common knowledge. Without a stated fraction it is 1.
func (f Fraction) Convention(d float64) float64 {
	const (
		largestInhaled   = 100
		thoracicMedian   = 11.64
		respirableMedian = 4.25
		deviation        = 1.5
	)
	if f == AnyFraction {
		return 1
	}
	if d > largestInhaled {
		return 0
	}
	inhaled := (1 + math.Exp(-0.06*d)) / 2
	switch f {
	case Thoracic:
		return inhaled * numeric.NormalSurvival(math.Log(d/thoracicMedian)/math.Log(deviation))
	case Respirable:
		return inhaled * numeric.NormalSurvival(math.Log(d/respirableMedian)/math.Log(deviation))
	default:
		return inhaled
	}
}

// Our own rule for when the sizes that a sensor sees do not fit a fraction.
const (
	// mostMissed is the largest share of the particles at the upper end of the sensor's range that may belong to the fraction:
	// those that are larger, and not seen, belong to a lesser share. Those over 100 µm are of no fraction.
	mostMissed = 0.1
	// leastKept is the smallest share that should: where fewer belong the sensor sees mostly other particles, the heaviest ones.
	leastKept = 0.01
	// finestShare is the largest lower end, as a part of the diameter of which half belongs: the particles under it weigh a
	// thousandth of those.
	finestShare = 0.1
)

// half is the diameter in µm of which half of the particles belong to the fraction.
func (f Fraction) half() float64 {
	return [...]float64{AnyFraction: math.Inf(1), Inhalable: 100, Thoracic: 10, Respirable: 4}[f]
}

// sizeNotes says where the sizes that a sensor sees do not fit the fraction.
func sizeNotes(c *TraceChannel, tell teller) {
	s, f := c.Sizes, c.Fraction
	if s == nil || f == AnyFraction {
		return
	}
	figured := func(v float64) string { return reading.Figures(v, 2) }
	belong := f.Convention(s.Upper)
	switch {
	case s.Upper < 100 && belong > mostMissed:
		tell(report.Careful, "particles-too-large-for-sensor", "%s: the sensor sees particles up to %s µm, of which %s %% still belong to the %s fraction "+
			"(ISO 7708); it misses the larger ones, and its readings may be low.", c.Agent, figured(s.Upper), figured(100*belong), f)
	case belong < leastKept:
		tell(report.Careful, "particles-outside-fraction", "%s: the sensor sees particles up to %s µm, of which %s belong to the %s fraction (ISO 7708); "+
			"without a size-selective inlet its readings hold particles outside it, and are high.", c.Agent, figured(s.Upper), fewest(belong), f)
	}
	if least := finestShare * f.half(); s.Lower > least {
		tell(report.Careful, "particles-too-small-for-sensor", "%s: the sensor sees no particles under %s µm, of which %s %% belong to the %s fraction "+
			"(ISO 7708); where fume or smoke is about, its readings may be low. The check is passed at %s µm.",
			c.Agent, figured(s.Lower), figured(100*f.Convention(s.Lower)), f, figured(least))
	}
}

// fewest writes a share that is too small to be of interest.
func fewest(share float64) string {
	switch {
	case share == 0:
		return "none"
	case share < 0.001:
		return "less than 0.1 %"
	}
	return reading.Figures(100*share, 2) + " %"
}

// sizeMethods says where the fraction comes from, when one is compared.
func sizeMethods(o *TraceOptions) []report.Method {
	for i := range o.Measured {
		if c := &o.Measured[i]; c.Sizes != nil && c.Fraction != AnyFraction {
			return []report.Method{{
				Quantity: "particle sizes", Method: "at most 10 % of the particles at the upper end of the sensor's range, and at least 1 %, belong to the fraction; " +
					"the lower end is at most a tenth of the size of which half belongs", Source: "fractions of ISO 7708:1995 (from memory); own rule",
			}}
		}
	}
	return nil
}
