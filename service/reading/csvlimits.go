package reading

import (
	"errors"
	"io"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/table"
)

// The columns of a table of limits, in the order of their names below.
const (
	limitsAgent = iota
	limitsLimit
	limitsUnit
)

// AgentLimits is a table of limits by agent.
type AgentLimits struct {
	byAgent map[string]agentLimit
	notes   []string
}

type agentLimit struct {
	Limit
	Place
}

// ReadLimits reads a table of limits: the columns agent and limit, and unit unless every limit carries its own, as in
// 0.5mg/m3. Agents are matched without regard to case. The error is a fault that lists everything wrong with the table, or
// the failure of r.
func ReadLimits(file string, r io.Reader, format table.Format) (*AgentLimits, error) {
	t, err := openColumns(file, r, Source{Format: format}, []string{"agent", "limit", "unit"}, limitsUnit)
	if err != nil {
		return nil, err
	}
	var problems Problems
	limits := &AgentLimits{byAgent: map[string]agentLimit{}}
	for {
		err := t.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err == nil {
			err = limits.add(t, t.rows.Place())
		}
		var f *fault.Error
		if err != nil && !errors.As(err, &f) {
			return nil, err
		}
		if err != nil {
			problems.Add(f)
		}
	}
	limits.notes = t.notes()
	return limits, problems.Err()
}

func (a *AgentLimits) add(t *columns, place Place) error {
	agent := string(t.cell(limitsAgent))
	if agent == "" {
		return place.Fault("agent", "is empty")
	}
	if before, found := a.byAgent[sound(agent)]; found {
		return place.Fault("agent", "%q has a limit in %v already", agent, before.Place)
	}
	limit, err := parseLimit(string(t.cell(limitsLimit)), t.rows.Mark())
	if err != nil {
		return at(place, "limit", err)
	}
	switch unit := Unit(t.cell(limitsUnit)); {
	case limit.Unit == "" && unit == "":
		return place.Fault("unit", "is empty; a limit has a unit")
	case limit.Unit == "":
		limit.Unit = unit
	case unit != "" && fold(unit) != fold(limit.Unit):
		return place.Fault("unit", "is %q, but the limit is written in %q", unit, limit.Unit)
	}
	a.byAgent[sound(agent)] = agentLimit{limit, place}
	return nil
}

func (a *AgentLimits) of(agent string) (Limit, Place, bool) {
	l, found := a.byAgent[sound(agent)]
	return l.Limit, l.Place, found
}

// Notes says what of the table was not read.
func (a *AgentLimits) Notes() []string { return a.notes }

// at puts the place in front of a fault that names no field.
func at(p Place, column string, err error) error {
	return fault.Under(p.String()+", column "+column, err)
}
