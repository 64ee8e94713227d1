// Package certify measures by simulation how often the limits that the service gives cover the truth. It draws groups of
// readings from a known lognormal, reports them as a laboratory or an instrument would, asks for every limit, and counts.
//
// The design is fixed and seeded, so that the same certificate comes out on every machine, whatever the number of workers.
// The full certificate is checked in under testdata/certificate; the tests run a short one.
package certify
