package posterior

import "math"

// Measurement error.
//
// The observed log is the true log plus an error of N(0, tau²), so observed logs are N(mu, sigma² + tau²), sigma being the
// spread of the true exposures. Limits are for the true exposures: mu + z sigma, sigma and mu + sigma²/2 are read from the same
// quadrature with the likelihood at s = sqrt(sigma² + tau²).
//
// The prior. 1/sigma will not do: as sigma -> 0 the likelihood stays positive, at its value for s = tau, and the integral of
// 1/sigma diverges; the posterior would put all of its mass on no spread at all. The reference prior is 1/s for the spread s
// that is observed, and its derivation (Jeffreys' rule for the spread, mu apart) is invariant: it gives ds/s restricted to s >= tau,
// whatever parameter is used. With ds = (sigma/s) dsigma that is
//
//	sigma dsigma / (sigma² + tau²),   or   sigma²/(sigma² + tau²) dlambda for lambda = ln sigma.
//
// It is 1/sigma for sigma well above tau, and the posterior tends to that without error as tau -> 0; it goes to 0 with sigma, so
// a posterior is proper at 0 whatever the readings, even when all are equal. There it leaves some mass near sigma = 0 when the readings
// scatter no more than the error alone explains, as it should.

// LogErrorSpread is tau, the standard deviation of the logarithm of a lognormal factor whose coefficient of variation is
// relative: sqrt(ln(1 + relative²)). relative is at least 0.
func LogErrorSpread(relative float64) float64 { return math.Sqrt(math.Log1p(relative * relative)) }
