// Package variance splits the spread of a group between and within its zones (or subjects) and says whether these may be
// pooled. On the scale of ln reading
//
//	y = mu + b + e,   b ~ N(0, sigma_b²) for each zone,   e ~ N(0, sigma_w²) for each reading.
//
// Partition is the way in. When every reading has a value the numbers come from the analysis of variance, the likelihood and
// the exact pivots of the layout; with censored readings from the likelihood with each zone's effect integrated out, and
// limits from a layout of readings with values that would say as much.
package variance
