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
// only percentile, confidence and the acceptance of dependent readings count. The error is a fault that names the field at fault.
func (s *Assessor) Partition(g reading.Group, by string, o Options) (*report.Partition, error) {
	o = o.WithDefaults()
	a := &report.Assessment{}
	if err := convertLimit(a, g); err != nil {
		return nil, err
	}
	var following []report.Note
	dependence, err := independence(ownReadings, g.Readings, o.AcceptDependent, teach(&following))
	if err != nil {
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
		Name: g.Name, Agent: g.Agent, Unit: g.Unit, Limit: a.Limit, By: by, Result: result, Caution: report.Caution, Notes: following,
	}
	for _, m := range variance.Methods(&result) {
		p.Methods = append(p.Methods, report.Method(m))
	}
	if dependence != nil {
		p.Methods = append(p.Methods, dependenceMethod())
	}
	for _, n := range result.Notes {
		p.Notes = append(p.Notes, report.Note{Code: n.Code, Severity: report.Careful, Text: n.Text})
	}
	p.Result.Notes = nil
	return p, nil
}
