package variance

import "math"

const (
	// gridStep is the spacing of the nodes in standard deviations of the sharpest feature that the integrand can have. For a normal
	// integrand the error of the trapezoid rule is 2 exp(-2 pi²/gridStep²) = 3e-12; it falls on the value as a factor that hardly
	// depends on the parameters.
	gridStep = 0.85
	// gridDrop is the fall of the logarithm of the integrand beyond which its tails are left out: 1e-12 of the peak.
	gridDrop = 27.6
	// gridNodes bounds the nodes on one side; about 100 are the most for readings that people take.
	gridNodes = 20000
	// edgeStep is the step under which the nodes are packed around an edge instead, edgePace their spacing in the variable y of the
	// hyperbolic sine, and edgeReach the distance from the edge at which their spacing has grown to gridStep, that of phi alone.
	// Beyond the edge the integrand falls like exp(-e^{2y}/2), which is analytic and falls in the strip |Im y| < pi/4 only: the error
	// is exp(-2 pi (pi/4)/edgePace) = 2e-11.
	edgeStep, edgePace = 0.12, 0.2
	edgeReach          = gridStep / edgePace
	// edgeFar is the distance from the mode beyond which an edge does not matter: phi has fallen by e^-40.
	edgeFar = 9
)

// grid is the nodes of the trapezoid rule for the effect u of a zone. As each reading bends the logarithm of the integrand by
// sigma_b²/sigma_w² at most, the sharpest feature is known beforehand. A zone whose readings keep its mean from both sides has an
// integrand about as narrow as that, and equal steps serve. With readings on one side only the integrand is phi with an edge at
// the nearest bound; where the edge is much sharper than phi, the nodes are packed around it.
type grid struct {
	center, width float64
	packed        bool
}

func (z *zone) grid(p place, mode, width float64) grid {
	floor, ceiling := z.sides()
	if floor && ceiling || width*gridStep >= edgeStep {
		return grid{center: mode, width: width}
	}
	highest, lowest := z.common()
	edge := lowest
	if floor {
		edge = highest
	}
	edge = math.Max(-edgeFar, math.Min(edgeFar, (edge-p.mu)/p.between-mode))
	return grid{center: mode + edge, width: width, packed: true}
}

// node is the i-th node, counted from the center to either side, and its weight.
func (g grid) node(i float64) (u, weight float64) {
	if !g.packed {
		return g.center + i*gridStep*g.width, gridStep * g.width
	}
	// u = center + reach asinh(width/reach sinh(pace i)): the spacing grows from pace width to pace reach.
	scale := g.width / edgeReach
	sinh, cosh := scale*math.Sinh(edgePace*i), scale*math.Cosh(edgePace*i)
	return g.center + edgeReach*math.Asinh(sinh), edgePace * edgeReach * cosh / math.Sqrt(1+sinh*sinh)
}
