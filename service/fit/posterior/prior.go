package posterior

import (
	"math"
	"strconv"
	"strings"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/reading"
)

// Prior is what is believed of the exposures before the readings. At most one part is set; none is the reference prior, whose
// density in (mu, sigma) is proportional to 1/sigma. Concentrations are in the unit of the readings. There are no built-in
// numbers: the caller owns the judgment.
type Prior struct {
	Bounded  *BoundedPrior
	Informed *InformedPrior
	Carried  *CarriedPrior
}

// BoundedPrior is flat in ln GM and ln GSD, that is in (mu, sigma), within the bounds and zero outside.
type BoundedPrior struct {
	// GeometricMeanLower and GeometricMeanUpper bound the geometric mean; 0 < lower < upper.
	GeometricMeanLower, GeometricMeanUpper float64
	// GeometricStandardDeviationLower and GeometricStandardDeviationUpper bound the geometric standard deviation; 1 < lower < upper.
	GeometricStandardDeviationLower, GeometricStandardDeviationUpper float64
}

// InformedPrior holds independent lognormals for the geometric mean and for the logarithm of the geometric standard deviation.
type InformedPrior struct {
	// GeometricMean is the median of the belief about it, greater than 0, GeometricMeanFactor its geometric standard deviation,
	// greater than 1.
	GeometricMean, GeometricMeanFactor float64
	// GeometricStandardDeviation is the median of the belief about it, greater than 1, GeometricStandardDeviationFactor the geometric
	// standard deviation of that about its logarithm, greater than 1.
	GeometricStandardDeviation, GeometricStandardDeviationFactor float64
}

// CarriedPrior lets the likelihood of earlier readings, raised to a weight, count together with the reference prior (a power
// prior; Ibrahim and Chen 2000, from memory).
type CarriedPrior struct {
	Readings []reading.Reading
	// Weight of the earlier readings, from 0 (ignored) to 1 (as good as new).
	Weight float64
}

// IsReference says that the prior is the reference prior.
func (p Prior) IsReference() bool { return p == Prior{} }

// Name is the prior in one word.
func (p Prior) Name() string {
	name, _, _ := strings.Cut(p.String(), ",")
	return name
}

// String names the prior in words.
func (p Prior) String() string {
	switch {
	case p.Bounded != nil:
		return "bounded, flat in ln GM and ln GSD within the bounds stated"
	case p.Informed != nil:
		return "informed, the lognormals stated for GM and for ln GSD"
	case p.Carried != nil:
		return "carried, earlier readings with the weight stated, on top of the reference prior"
	}
	return "reference, density proportional to 1/sigma"
}

// Check returns a fault that names the number at fault, by its path in a request.
func (p Prior) Check() error { return fault.Under("prior", p.check()) }

func (p Prior) check() error {
	set := 0
	var err error
	if p.Bounded != nil {
		set++
		err = fault.Under("bounded", p.Bounded.check())
	}
	if p.Informed != nil {
		set++
		err = fault.Under("informed", p.Informed.check())
	}
	if p.Carried != nil {
		set++
		err = fault.Under("carried", p.Carried.check())
	}
	if set > 1 {
		return fault.Invalid("", "has %d kinds; accepted is one of bounded, informed and carried, or none for the reference prior", set)
	}
	return err
}

func (p *BoundedPrior) check() error {
	if err := above("geometricMeanLower", p.GeometricMeanLower, 0); err != nil {
		return err
	}
	if err := above("geometricMeanUpper", p.GeometricMeanUpper, p.GeometricMeanLower); err != nil {
		return err
	}
	if err := above("geometricStandardDeviationLower", p.GeometricStandardDeviationLower, 1); err != nil {
		return err
	}
	return above("geometricStandardDeviationUpper", p.GeometricStandardDeviationUpper, p.GeometricStandardDeviationLower)
}

func (p *InformedPrior) check() error {
	if err := above("geometricMean", p.GeometricMean, 0); err != nil {
		return err
	}
	if err := above("geometricMeanFactor", p.GeometricMeanFactor, 1); err != nil {
		return err
	}
	if err := above("geometricStandardDeviation", p.GeometricStandardDeviation, 1); err != nil {
		return err
	}
	return above("geometricStandardDeviationFactor", p.GeometricStandardDeviationFactor, 1)
}

func (p *CarriedPrior) check() error {
	if !(p.Weight >= 0 && p.Weight <= 1) {
		return fault.Invalid("weight", "is %v; accepted is a number from 0 to 1", p.Weight)
	}
	for i := range p.Readings {
		if err := p.Readings[i].Check(); err != nil {
			return fault.Under(readingPath(i), err)
		}
	}
	return nil
}

// above accepts a finite number greater than bound whose logarithm can be told from that of the bound.
func above(field string, v, bound float64) error {
	if v > bound && !math.IsInf(v, 1) && (bound > 0 || v >= 0x1p-1022) && !(math.Log(v) == math.Log(bound)) {
		return nil
	}
	return fault.Invalid(field, "is %v; accepted is a finite number greater than %v", v, bound)
}

func readingPath(i int) string { return "readings[" + strconv.Itoa(i) + "]" }
