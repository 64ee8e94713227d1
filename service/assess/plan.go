package assess

import (
	"math"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/fit"
	"example.com/tailbound/service/planning"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// Question is what a plan of sampling is to answer. Any of its three parts may be there.
type Question struct {
	Rule decision.Rule
	// Assumed is an exposure to plan for; nil when none is assumed. Its unit is that of the limit.
	Assumed *Exposure
	// SoFar are the readings already taken, with the limit and the unit.
	SoFar reading.Group
	// AcceptDependent takes readings so far that follow one another within a shift although they depend on each other.
	AcceptDependent bool
	// Grid asks for a plan at every pair of assumed exposures; its samples, aim and chance are those of the question.
	Grid *planning.Grid
	// Highest asks how many people to sample; nil when that is not asked.
	Highest *Highest
	Samples planning.Range
	Want    planning.Want
}

// Exposure is an assumed lognormal.
type Exposure struct{ GeometricMean, GeometricStandardDeviation float64 }

// Highest is a group of people of which a fraction is the highest exposed.
type Highest struct {
	GroupSize            int
	Fraction, Confidence float64
}

// Plan says what a rule would make of n samples. The error is a fault that names the field at fault.
func (s *Assessor) Plan(q Question) (*report.Plan, error) {
	if q.Rule == 0 {
		q.Rule = decision.EN689
	}
	p := &report.Plan{Rule: q.Rule, Want: q.Want, Caution: report.Caution}
	if q.SoFar.Limit != nil {
		p.Limit = *q.SoFar.Limit
	}
	for _, part := range []func(*report.Plan, Question) error{s.assumed, s.curves, s.prospect, highest} {
		if err := part(p, q); err != nil {
			return nil, err
		}
	}
	p.Methods = planMethods(p)
	return p, nil
}

// assumed plans for an exposure that is assumed.
func (s *Assessor) assumed(p *report.Plan, q Question) error {
	if q.Assumed == nil {
		return nil
	}
	if q.SoFar.Limit == nil {
		return fault.Invalid("limit", "is missing; a plan needs the limit that the samples will be judged against")
	}
	a, err := planning.Assume(q.Assumed.GeometricMean, q.Assumed.GeometricStandardDeviation, q.SoFar.Limit.Value)
	if err != nil {
		return err
	}
	if p.Rows, err = s.planner.Plan(q.Rule, a, q.Samples); err != nil {
		return err
	}
	p.Needed = planning.Smallest(p.Rows, q.Want.Aim, q.Want.Chance)
	return nil
}

// curves plans over a grid of exposures, relative to the limit.
func (s *Assessor) curves(p *report.Plan, q Question) (err error) {
	if q.Grid == nil {
		return nil
	}
	q.Grid.Samples, q.Grid.Aim, q.Grid.Wanted = q.Samples, q.Want.Aim, q.Want.Chance
	p.Curves, err = s.planner.Curves(q.Rule, q.Grid)
	return err
}

// prospect says what further readings promise after those so far.
func (s *Assessor) prospect(p *report.Plan, q Question) error {
	if len(q.SoFar.Readings) == 0 {
		return nil
	}
	if q.SoFar.Limit == nil {
		return fault.Invalid("limit", "is missing; a plan needs the limit that the samples will be judged against")
	}
	a := &report.Assessment{}
	if err := convertLimit(a, q.SoFar); err != nil {
		return err
	}
	if _, err := independence("The readings so far", q.SoFar.Readings, q.AcceptDependent, teach(&p.Notes)); err != nil {
		return err
	}
	f := s.fit(q.SoFar.Readings, Options{})
	if f.Status != fit.Fitted {
		return fault.Unsettled("the %d readings so far determine no lognormal, so nothing can be predicted from them; take readings that "+
			"have a value and differ", len(q.SoFar.Readings))
	}
	so, err := soFar(&f, q.SoFar.Readings)
	if err != nil {
		return err
	}
	prospect, err := s.planner.Prospect(q.Rule, so, math.Log(a.Limit.Value), q.Samples.Upper, q.Want)
	if err != nil {
		return err
	}
	p.Prospect = &prospect
	return nil
}

func soFar(f *fit.Fit, readings []reading.Reading) (planning.SoFar, error) {
	maximum := math.Log(reading.Count(readings).Maximum)
	if f.Exact {
		return planning.Observed(f.N, f.Mu, f.Sigma, maximum)
	}
	return planning.Equivalent(f.Posterior, f.N, maximum)
}

func highest(p *report.Plan, q Question) error {
	if q.Highest == nil {
		return nil
	}
	h, err := planning.SampleHighest(q.Highest.GroupSize, q.Highest.Fraction, q.Highest.Confidence)
	if err != nil {
		return fault.Under("highest", err)
	}
	p.Highest, p.HighestAsked = &h, *q.Highest.stated()
	return nil
}

func (h *Highest) stated() *report.HighestAsked {
	return &report.HighestAsked{GroupSize: h.GroupSize, Fraction: h.Fraction, Confidence: h.Confidence}
}

// planMethods says which formula gave each number.
func planMethods(p *report.Plan) []report.Method {
	var out []report.Method
	if len(p.Rows)+len(p.Curves) > 0 {
		out = append(out, report.Method{
			Quantity: "plans", Method: "exact chances: noncentral t, and for EN 689 order probabilities of the largest result",
			Source: "Odeh and Owen 1980, Tables for Normal Tolerance Limits, Sampling Plans and Screening (from memory)",
		})
	}
	if p.Prospect != nil {
		out = append(out, report.Method{
			Quantity: "prospect", Method: "the sampling law of further readings integrated over the posterior of the exposure",
			Source: "Geisser 1993, Predictive Inference (from memory)",
		})
	}
	if p.Highest != nil {
		out = append(out, report.Method{Quantity: "highest", Method: "1 - C(N-m, n)/C(N, n), hypergeometric", Source: planning.HighestSource})
	}
	return out
}
