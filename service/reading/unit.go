package reading

import (
	"strings"

	"example.com/tailbound/service/fault"
)

// Unit is the unit of a concentration, as the caller writes it. Units of one dimension convert into each other; any other
// unit is only ever equal to itself.
type Unit string

// scale gives each known unit its dimension and its size in that dimension's smallest unit, a whole number. Mass per volume
// and volume per volume do not convert into each other here: that takes a molar mass, a temperature and a pressure.
func scale(u Unit) (dimension string, size float64) {
	switch fold(u) {
	case "kg/m3":
		return "mass per volume", 1e12
	case "g/m3", "mg/l":
		return "mass per volume", 1e9
	case "mg/m3", "ug/l":
		return "mass per volume", 1e6
	case "ug/m3", "ng/l":
		return "mass per volume", 1e3
	case "ng/m3":
		return "mass per volume", 1
	case "%":
		return "volume per volume", 1e7
	case "ppm":
		return "volume per volume", 1e3
	case "ppb":
		return "volume per volume", 1
	case "f/cm3", "f/ml":
		return "fibers per volume", 1e6
	case "f/l":
		return "fibers per volume", 1e3
	case "f/m3":
		return "fibers per volume", 1
	}
	return "", 0
}

// spellings are the ways in which one unit is written; never changed.
var spellings = strings.NewReplacer("µ", "u", "μ", "u", "mcg", "ug", "³", "3", "^", "", "**", "", " ", "", "\u00a0", "",
	"fibres", "f", "fibers", "f", "fibre", "f", "fiber", "f")

// fold writes one unit in one way: lower case, plain u for both micro signs, digits for superscripts, no spaces.
func fold(u Unit) string { return spellings.Replace(strings.ToLower(string(u))) }

// Convert returns v, given in unit from, in unit to. It rounds once, so that 35 µg/m3 and 0.035 mg/m3 are the same number. The
// error names no field: fault.Under adds it. An empty unit is equal only to an empty unit.
func Convert(v float64, from, to Unit) (float64, error) {
	fromSize, toSize, err := sizes(from, to)
	switch {
	case err != nil:
		return 0, err
	case fromSize >= toSize:
		return v * (fromSize / toSize), nil
	default:
		return v / (toSize / fromSize), nil
	}
}

// sizes returns the two units in a common one; the larger is a whole multiple of the smaller.
func sizes(from, to Unit) (fromSize, toSize float64, err error) {
	if from == to || fold(from) == fold(to) {
		return 1, 1, nil
	}
	fromDimension, fromSize := scale(from)
	toDimension, toSize := scale(to)
	if fromDimension == "" || fromDimension != toDimension {
		return 0, 0, fault.Invalid("", "%s cannot be converted to %s; accepted is %s%s", quote(from), quote(to), quote(to), sameKind(toDimension))
	}
	return fromSize, toSize, nil
}

func quote(u Unit) string {
	if u == "" {
		return "no unit"
	}
	return `"` + string(u) + `"`
}

func sameKind(dimension string) string {
	if dimension == "" {
		return ""
	}
	return " or another unit of " + dimension
}
