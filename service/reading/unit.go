package reading

import (
	"strings"

	"example.com/tailbound/service/fault"
)

// Unit is the unit of a concentration, as the caller writes it. Units of one dimension convert into each other; any other
// unit is only ever equal to itself.
type Unit string

// The kinds of units that convert within themselves. Mass per volume and volume per volume do not convert into each other here: that
// takes a molar mass, a temperature and a pressure (see Vapor). A fiber is counted by its shape, so fibers are no particles.
const (
	massPerVolume      = "mass per volume"
	volumePerVolume    = "volume per volume"
	fibersPerVolume    = "fibers per volume"
	particlesPerVolume = "particles per volume"
)

// scale gives each known unit its dimension and its size in that dimension's smallest unit, a whole number.
func scale(u Unit) (dimension string, size float64) {
	switch fold(u) {
	case "kg/m3":
		return massPerVolume, 1e12
	case "g/m3", "mg/l":
		return massPerVolume, 1e9
	case "mg/m3", "ug/l":
		return massPerVolume, 1e6
	case "ug/m3", "ng/l":
		return massPerVolume, 1e3
	case "ng/m3":
		return massPerVolume, 1
	case "%", "vol%", "%vol":
		return volumePerVolume, 1e7
	case "ppm", "ppmv", "umol/mol":
		return volumePerVolume, 1e3
	case "ppb", "ppbv", "nmol/mol":
		return volumePerVolume, 1
	case "f/cm3", "f/ml", "f/cc":
		return fibersPerVolume, 1e6
	case "f/l":
		return fibersPerVolume, 1e3
	case "f/m3":
		return fibersPerVolume, 1
	case "p/cm3", "p/ml", "p/cc":
		return particlesPerVolume, 1e6
	case "p/l":
		return particlesPerVolume, 1e3
	case "p/m3":
		return particlesPerVolume, 1
	}
	return "", 0
}

// spellings are the ways in which one unit is written; never changed. A longer word stands before the one that it begins with.
var spellings = strings.NewReplacer("µ", "u", "μ", "u", "mcg", "ug", "³", "3", "¹", "1", "⁻", "-", "−", "-", "^", "", "**", "", " ", "",
	"\u00a0", "", "\u202f", "", "·", "", "percent", "%", "per", "/", "liters", "l", "litres", "l", "liter", "l", "litre", "l",
	"fibres", "f", "fibers", "f", "fibre", "f", "fiber", "f", "particles", "p", "particle", "p", "counts", "p", "count", "p", "#", "p")

// fold writes one unit in one way: lower case, plain u for both micro signs, digits for superscripts, no spaces, a slash for a
// negative power, p for whatever is counted.
func fold(u Unit) string {
	s := spellings.Replace(strings.ToLower(string(u)))
	for _, power := range [...]struct{ negative, volume string }{{"cm-3", "/cm3"}, {"m-3", "/m3"}, {"ml-1", "/ml"}, {"l-1", "/l"}} {
		if what, found := strings.CutSuffix(s, power.negative); found {
			s = what + power.volume
			break
		}
	}
	if volume, found := strings.CutPrefix(strings.TrimPrefix(s, "1"), "/"); found {
		return "p/" + volume
	}
	return s
}

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
		return 0, 0, fault.Invalid("", "%s cannot be converted to %s%s; accepted is %s%s", quote(from), quote(to),
			without(fromDimension, toDimension), quote(to), sameKind(toDimension))
	}
	return fromSize, toSize, nil
}

// without says what two kinds lack that convert into each other only for a vapor.
func without(from, to string) string {
	if from == massPerVolume && to == volumePerVolume || from == volumePerVolume && to == massPerVolume {
		return " without the molar mass of the agent"
	}
	return ""
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
