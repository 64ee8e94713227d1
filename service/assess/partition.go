package assess

import (
	"math"

	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/variance"
)

// What the readings of a group may be divided by.
const (
	ByZone    = "zone"
	BySubject = "subject"
)

// Partition splits the variance of a group between and within its zones, or its subjects when by is BySubject. Of the options
// only percentile and confidence count. The error is a fault that names the field at fault.
func (s *Assessor) Partition(g reading.Group, by string, o Options) (*report.Partition, error) {
	o = o.WithDefaults()
	a := &report.Assessment{}
	if err := convertLimit(a, g); err != nil {
		return nil, err
	}
	ask := variance.Options{Confidence: o.Confidence, Percentile: o.Percentile, What: by}
	if a.Limit != nil {
		q := math.Log(a.Limit.Value)
		ask.LogLimit = &q
	}
	key := func(r reading.Reading) string { return r.Zone }
	if by == BySubject {
		key = func(r reading.Reading) string { return r.Subject }
	}
	result, err := variance.Partition(g.Readings, key, ask)
	if err != nil {
		return nil, err
	}
	p := &report.Partition{
		Name: g.Name, Agent: g.Agent, Unit: g.Unit, Limit: a.Limit, By: by, Result: result,
		Methods: partitionMethods(&result), Caution: report.Caution,
	}
	for _, n := range result.Notes {
		p.Notes = append(p.Notes, report.Note{Code: n.Code, Severity: report.Careful, Text: n.Text})
	}
	p.Result.Notes = nil
	return p, nil
}

// partitionMethods says which formula gave each number.
func partitionMethods(r *variance.Result) []report.Method {
	out := []report.Method{
		{
			Quantity: "between, within", Method: "one-way random effects on ln reading, restricted maximum likelihood",
			Source: "Searle, Casella and McCulloch 1992, Variance Components (from memory)",
		},
		{
			Quantity: "limits", Method: "within from chi-square; between, share, ratio and chance from a generalized pivotal quantity by quadrature",
			Source: "Krishnamoorthy and Mathew 2009, Statistical Tolerance Regions (from memory)",
		},
		{
			Quantity: "percentileRatio", Method: "exp(3.92 × sigma between), 97.5th over 2.5th percentile of the means",
			Source: "Rappaport 1991; Kromhout, Symanski and Rappaport 1993, Ann Occup Hyg 37:253 (formula from memory)",
		},
		{
			Quantity: "zones", Method: "best linear unbiased prediction of the mean of ln reading",
			Source: "Searle, Casella and McCulloch 1992 (from memory)",
		},
	}
	if r.Censored > 0 {
		out[0].Method = "one-way random effects on ln reading, maximum likelihood by adaptive Gauss-Hermite quadrature"
	}
	if !math.IsNaN(r.Test.PValue) {
		out = append(out, report.Method{
			Quantity: "fTest", Method: "one-way analysis of variance", Source: "NIST/SEMATECH e-Handbook of Statistical Methods, 7.4.3",
		})
	}
	if r.Split != nil {
		out = append(out, report.Method{
			Quantity: "split", Method: "contiguous splits of the ordered means by the Bayesian information criterion",
			Source: "Schwarz 1978, Ann Stat 6:461; Fisher 1958, JASA 53:789 (from memory)",
		})
	}
	return out
}
