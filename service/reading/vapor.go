package reading

import (
	"math"

	"example.com/tailbound/service/fault"
)

// GasConstant is the molar gas constant in J/(mol K), exact since the SI of 2019.
const GasConstant = 8.31446261815324

// The state of the air that limits are usually converted in: 25 °C and 101.325 kPa (760 mmHg), where the molar volume is
// 24.4654 l/mol by the gas constant above. Tables of limits often print 24.45, which is 0.06 % less: a limit that such a table gives in
// both units is met to that much.
const (
	RoomTemperature = 25.0
	RoomPressure    = 101.325
)

// Vapor says what it takes to turn a concentration by volume into one by mass.
type Vapor struct {
	// MolarMass is in g/mol; 0 when it is not known.
	MolarMass float64
	// Temperature is in °C, Pressure in kPa.
	Temperature, Pressure float64
}

// MolarVolume returns the volume of a mole of an ideal gas, in l/mol.
func (v Vapor) MolarVolume() float64 {
	const absoluteZero = -273.15
	return GasConstant * (v.Temperature - absoluteZero) / v.Pressure
}

// Check returns a fault, by the names of the contract, when a number is out of range.
func (v Vapor) Check() error {
	switch {
	case !(v.MolarMass >= 0 && v.MolarMass <= 1e6):
		return fault.Invalid("molarMass", "is %v; accepted is a number of g/mol up to a million, 0 when it is not known", v.MolarMass)
	case !(v.Temperature >= -100 && v.Temperature <= 1000):
		return fault.Invalid("temperature", "is %v; accepted is a number of °C from -100 to 1000", v.Temperature)
	case !(v.Pressure >= 1 && v.Pressure <= 1e4):
		return fault.Invalid("pressure", "is %v; accepted is a number of kPa from 1 to 10000", v.Pressure)
	}
	return nil
}

// Convert returns a concentration in another unit, also by volume from one by mass and the other way round: mg/m3 = ppm × molar
// mass / molar volume. The fault names no field, or molarMass when that is missing. What has no such way is refused.
func (v Vapor) Convert(concentration float64, from, to Unit) (float64, error) {
	fromDimension, _ := scale(from)
	toDimension, _ := scale(to)
	factor := v.MolarMass / v.MolarVolume()
	middle, other := Unit("ppm"), Unit("mg/m3")
	switch {
	case fromDimension == volumePerVolume && toDimension == massPerVolume:
	case fromDimension == massPerVolume && toDimension == volumePerVolume:
		middle, other, factor = other, middle, 1/factor
	default:
		return Convert(concentration, from, to)
	}
	if v.MolarMass == 0 {
		return math.NaN(), fault.Invalid("molarMass", "is missing; from %s to %s it is needed", quote(from), quote(to))
	}
	c, err := Convert(concentration, from, middle)
	if err != nil {
		return math.NaN(), err
	}
	return Convert(c*factor, other, to)
}

// convert is Convert where a molar mass is known and else within one kind, with a fault that names no field.
func (v Vapor) convert(concentration float64, from, to Unit) (float64, error) {
	if v.MolarMass == 0 {
		return Convert(concentration, from, to)
	}
	return v.Convert(concentration, from, to)
}

// ofOneKind says whether units convert into each other without a molar mass.
func ofOneKind(a, b Unit) bool {
	_, _, err := sizes(a, b)
	return err == nil
}
