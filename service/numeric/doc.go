// Package numeric holds the distribution functions, the quadrature and the
// root finding that the rest of the service stands on. It knows nothing of
// exposure: every function takes and returns plain numbers without units.
//
// The package exists because the general libraries lose the tails. Every
// distribution here therefore has a Survival beside its CDF, each computed
// directly rather than as one minus the other, and every solve keeps a bracket
// and is bounded.
//
// Convention for the whole package: an argument outside the documented domain
// gives NaN, never a panic and never a silently clipped answer. An error is
// returned only where a correct caller can still meet a failure, which is in
// Root and in the integrators that take the caller's function.
package numeric
