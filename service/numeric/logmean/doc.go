// Package logmean holds the exact laws of the log of a lognormal's arithmetic mean, mu + sigma²/2, given the mean and the
// standard deviation (divisor n-1) of the natural logs of n readings: the unbiased estimate, Land's conditional limits and
// the generalized pivotal quantity.
package logmean
