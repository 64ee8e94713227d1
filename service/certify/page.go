package certify

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
)

// page writes text and keeps the first error.
type page struct {
	w   io.Writer
	err error
}

func (p *page) printf(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.w, format, args...)
	}
}

// WritePage writes the certificate for people: what was done, what came out, and every departure.
// The section of ratios is left out when there are none.
func WritePage(w io.Writer, rows []Row, ratios []RatioRow) error {
	p := &page{w: w}
	if len(rows) == 0 {
		return nil
	}
	p.printf(introduction, rows[0].Samples, chanceError(rows[0].Samples, 0.95), chanceError(rows[0].Samples, 0.7))
	p.printf("## What came out\n\n")
	for _, m := range methodsOf(rows) {
		p.inShort(m, rows)
	}
	p.summary("Nothing censored: the exact limits, which all methods give", rows, func(r *Row) bool {
		return r.Design.Reporting == Complete && r.Method == rows[0].Method
	})
	for _, m := range methodsOf(rows) {
		p.summary(m+", from 10 readings up to 60 % censored and from 6 readings up to 30 %", rows, func(r *Row) bool {
			return r.Method == m && r.Design.Reporting != Complete && r.Design.Promised()
		})
		p.summary(m+", fewer readings or more censored than that", rows, func(r *Row) bool {
			return r.Method == m && r.Design.Reporting != Complete && !r.Design.Promised()
		})
	}
	p.printf("%s", choice)
	p.printf("%s", explanations)
	for _, m := range methodsOf(rows) {
		p.departures(m, rows)
	}
	p.ratios(ratios)
	return p.err
}

func chanceError(samples int, p float64) float64 { return math.Sqrt(p * (1 - p) / float64(samples)) }

// methodsOf lists the methods in their order.
func methodsOf(rows []Row) []string {
	var out []string
	for i := range rows {
		if m := rows[i].Method; !slices.Contains(out, m) {
			out = append(out, m)
		}
	}
	return out
}

// quantities are those of the table, in its order.
var quantities = []Quantity{GeometricMean, GeometricStandardDeviation, Percentile95, Exceedance, ArithmeticMean}

// summary gives the range of the coverages of each limit and the number that departs.
func (p *page) summary(title string, rows []Row, in func(r *Row) bool) {
	p.printf("### %s\n\n| quantity | lower 95 %% | lower 70 %% | upper 70 %% | upper 95 %% | beyond ±%.3f |\n|---|---|---|---|---|---|\n", title, Tolerance)
	for _, q := range quantities {
		low, high := [sides]float64{1, 1, 1, 1}, [sides]float64{}
		beyond, all := 0, 0
		for i := range rows {
			r := &rows[i]
			if r.Quantity != q || r.Given == 0 || !in(r) {
				continue
			}
			for s := range sides {
				low[s], high[s] = min(low[s], r.Coverage(s)), max(high[s], r.Coverage(s))
				all++
				if r.Departs(s) {
					beyond++
				}
			}
		}
		p.printf("| %v |", q)
		for s := range sides {
			p.printf(" %.3f–%.3f |", low[s], high[s])
		}
		p.printf(" %d of %d |\n", beyond, all)
	}
	p.printf("\n")
}

// inShort says how many coverages of a method depart where censored limits are promised to cover, and which one most.
func (p *page) inShort(method string, rows []Row) {
	all, beyond, most := 0, 0, 0.0
	var worst *Row
	var side Side
	for i := range rows {
		r := &rows[i]
		if r.Method != method || r.Design.Reporting == Complete || !r.Design.Promised() || r.Given == 0 {
			continue
		}
		for s := range sides {
			all++
			if r.Departs(s) {
				beyond++
			}
			if d := math.Abs(r.Departure(s)); d >= most {
				worst, side, most = r, s, d
			}
		}
	}
	if worst == nil {
		return
	}
	p.printf("With non-detects, from 10 readings up to 60 %% censored and from 6 readings up to 30 %%, %d of %d coverages of %s are more than\n"+
		"%.3f from the confidence; the farthest is %.3f for the %v limit of the %s (%v).\n\n",
		beyond, all, method, Tolerance, worst.Coverage(side), side, worst.label(), worst.Design)
}

// label names the quantity and, where it counts, the geometric standard deviation.
func (r *Row) label() string {
	if r.GSD == 0 {
		return r.Quantity.String()
	}
	return r.Quantity.String() + ", GSD " + r.gsd()
}

// departures lists every row in which a limit departs; those that do are bold.
func (p *page) departures(method string, rows []Row) {
	p.printf("### %s\n\n| design | quantity | limits given | lower 95 %% | lower 70 %% | upper 70 %% | upper 95 %% | reasons |\n"+
		"|---|---|---|---|---|---|---|---|\n", method)
	for i := range rows {
		r := &rows[i]
		if r.Method != method || !r.departsAnywhere() {
			continue
		}
		p.printf("| %v | %s | %.1f %% |", r.Design, r.label(), 100*float64(r.Given)/float64(r.Samples))
		var why Reason
		for s := range sides {
			mark := ""
			if r.Departs(s) {
				mark = "**"
			}
			why |= r.Reasons(s)
			p.printf(" %s%.3f%s |", mark, r.Coverage(s), mark)
		}
		p.printf(" %v |\n", why)
	}
	p.printf("\n")
}

func (r *Row) departsAnywhere() bool {
	for s := range sides {
		if r.Departs(s) {
			return true
		}
	}
	return false
}

// introduction takes the number of samples and the two standard errors.
var introduction = strings.TrimLeft(`
# How often the limits cover

This page says what share of the confidence limits that Tailbound gives hold the truth, found by simulation. Every number is also
in certificate.csv beside it. Both are written by "tailbound certify"; the same command writes the same bytes again.

## What was simulated

The natural logs of readings are independent draws from one normal distribution; that they are is assumed, not tested, here. Each
draw is reported as a laboratory or an instrument would report it:

- **one limit**: below a reporting limit, or with its value;
- **three limits**: the readings take turns with three reporting limits, 0.7 standard deviations of ln reading apart. Which limit a
  reading with a value had is not told to the service, as it is not in practice;
- **limit and top**: below a reporting limit, above the top of the range, or with its value; half of the censored share each;
- **detection and quantification**: below the limit of detection, between it and that of quantification, or with its value; half of
  the censored share each.

The share censored is the expected one; in a sample it varies as it does in practice. Groups have 3 to 60 readings, and up to 80 %%
of them are censored. For each of these designs %d groups were drawn. Groups of 15 and 30, those with 15 %% censored, and those of 6
with two kinds of limits are simulated for CALIBRATED alone, which takes a fiftieth of the time.

Geometric mean, geometric standard deviation, percentile and exceedance and their limits follow every change of location and scale
of ln reading, so their coverage is the same at every geometric standard deviation (a test shows it). That of the arithmetic mean
(AM) is not, and is given at 1.3, 2, 3 and 5. P95 is the 95th percentile; the exceedance is that of a limit that 10 %% exceed.

Each of the five quantities has a lower and an upper one-sided limit at the confidences 0.95 and 0.70. A lower limit covers when it
is at or below the truth, an upper limit when it is at or above it.

**What is conditioned on.** A coverage is the share among the samples for which the method gives limits; the samples for which it
refuses count neither way, and how many remain is in the column "limits given". POSTERIOR needs two readings that have a value or
lie between two bounds, and readings that cannot all be one value; CALIBRATED needs one such reading and a maximum of the
likelihood. In a sample that happens to have a value for every reading both give the exact limits. Nothing else is conditioned on: not
the number of non-detects, which differs from sample to sample within a design.

**How a limit is judged.** The limits of GM, P95 and exceedance are the points where a confidence, as a function of the tested value,
passes 0.05, 0.30, 0.70 or 0.95. So a limit covers exactly when that confidence, at the true value, is on the right side of its
level, and one evaluation judges four limits. The tests ask for the limits themselves as well, and get the same.

**Seeds.** Each design has its own generator (PCG of math/rand/v2), seeded with the size of the group, the share censored and the way
of reporting. All methods see the same samples. The number of workers changes nothing.

**Error of the simulation.** The standard error of a coverage is %.4f at 0.95 and %.4f at 0.70 when all samples give limits, and
larger in proportion to the root of their share otherwise. Among thousands of coverages some departures of three standard errors
are to be expected.

`, "\n")

const choice = `## Why the calibrated limits are what they are

They were chosen by measurement. The table holds coverages of the candidates at nominal 0.95, 0.70, 0.70 and 0.95, with one reporting
limit; r is the signed root of the likelihood ratio taken as normal, r* its third-order adjustment by Skovgaard's covariances, and
the bootstrap simulates r with mu and sigma at the maximum constrained by the tested value, 300 draws for each hypothesis. (Measured
once, with 5,000 samples for the bootstrap and 40,000 otherwise; the code of the candidates not taken is not kept.)

| design, quantity | r | r* | bootstrap of r |
|---|---|---|---|
| n = 6, 30 % censored, P95 | 0.970 0.794 0.576 0.899 | 0.950 0.701 0.699 0.949 | 0.949 0.705 0.695 0.949 |
| n = 10, 60 % censored, P95 | 0.970 0.786 0.596 0.912 | 0.950 0.692 0.709 0.951 | 0.950 0.702 0.694 0.954 |
| n = 10, 60 % censored, GM | 0.927 0.623 0.764 0.979 | 0.949 0.696 0.692 0.957 | 0.949 0.707 0.687 0.954 |
| n = 10, 50 % censored, GM | 0.938 0.656 0.717 0.946 | 0.953 0.681 0.651 0.946 | 0.949 0.700 0.693 0.944 |

r* was taken: it is as good as the bootstrap but for the steps explained below, takes some 40 microseconds for a limit in place of some
10 milliseconds, and is a smooth function of the readings. Where steps show, the bootstrap evens them out by ranking samples with equal
counts by the shape of their few values, which says next to nothing of the quantity; a reader would see limits move for no reason.
A generalized fiducial distribution built on pairs of values is the posterior under the reference prior, so it was not tried apart.

Calibrated limits are given from one reading with a value on, where the posterior needs two, for the sake of their coverage: to refuse
samples for what they show selects among them. For the GM of 10 readings, 60 % censored, r* covers 0.941 0.638 0.817 1.000 when only
samples with 3 values or more are counted, 0.947 0.680 0.723 0.987 with 2 or more, and 0.949 0.696 0.692 0.957 with 1 or more. With
a single value the limits are honest and very wide.

`

const explanations = `## Every departure beyond ±0.015, and why

The departures are bold. The reasons:

- **prior**: with nothing censored the reference prior 1/sigma gives the exact limits. With non-detects it does not: it leaves more
  weight on a wide spread about a low middle than repeated sampling warrants. Limits of the GSD, and of what lies above the reporting
  limits (P95, exceedance, mostly AM), come out too high: upper ones are on the safe side and cover more than they promise, lower
  ones less. Limits of a GM under the reporting limits come out too low, the other way about.
- **selection**: a method that refuses some samples is judged on the others, and these are not a fair choice: where no or hardly any
  reading has a value, exposures tend to be low. The limits that remain lie too high on the average, so that upper limits cover more
  often, and lower limits less often, than they would over all samples.
- **steps**: the quantity lies within half a standard deviation of a place where the report changes, in a group of at most 30. Then
  nearly all that the readings say of it is how many of them fell on either side. That is a count; its probabilities are steps of up
  to 0.25 at n = 10, and the coverage of every limit that is a smooth function of the readings jumps by a part of a step as the
  quantity passes the limit. The GSD is told by such counts when readings are censored at both ends.
- **few values**: fewer than 7 readings are expected to have a value. r* is normal to the third order in the root of their number,
  and this is where the next orders show.
- **chance**: beyond the tolerance by less than two standard errors of this simulation.

`
