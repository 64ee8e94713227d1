package certify

// Tolerance is the departure of a coverage from its confidence that must be named and explained.
const Tolerance = 0.015

// Samples is the number of groups drawn for each design of the full certificate: the standard error of a coverage is at most 0.004.
const Samples = 13_200

// Certificate is the plan of the full certificate.
func Certificate(samples int) Plan {
	return Plan{Designs: designs(), Methods: Methods(), Samples: samples, GSDs: []float64{1.3, 2, 3, 5}, Workers: 1}
}

func designs() []Design {
	var out []Design
	for _, n := range []int{3, 6, 10, 15, 20, 30, 60} {
		between := n == 15 || n == 30
		out = append(out, Design{n, 0, Complete, between})
		for _, share := range []float64{0.15, 0.3, 0.5, 0.6, 0.8} {
			fine := between || share == 0.15
			out = append(out, Design{n, share, OneLimit, fine}, Design{n, share, ThreeLimits, fine})
		}
	}
	for _, n := range []int{6, 10, 20} {
		for _, share := range []float64{0.3, 0.6} {
			out = append(out, Design{n, share, OverRange, n == 6}, Design{n, share, Quantification, n == 6})
		}
	}
	return out
}

// Promised says whether the calibrated limits are meant to cover to within Tolerance: from 10 readings up to 60 % censored, and
// from 6 readings up to 30 %.
func (d Design) Promised() bool {
	return d.Readings >= 10 && d.Censored <= 0.6 || d.Readings >= 6 && d.Censored <= 0.3
}
