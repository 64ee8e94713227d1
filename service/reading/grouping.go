package reading

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/table"
)

// TabledGroup is a group whose readings came from tables.
type TabledGroup struct {
	Group
	// Places say where each reading stands, in the order of Readings.
	Places []Place
	// vapor is what is known of the agent; its molar mass is 0 when nothing is.
	vapor Vapor
	// first is where the group first appears, limited where its limit was first stated.
	first, limited Place
}

// Grouping gathers the rows of one or more tables into groups. Groups, and the readings in them, keep the order in which
// they first appear. It is not safe for concurrent use.
type Grouping struct {
	// Source says how the tables to come are written.
	Source Source
	// CombineWithin has Groups take consecutive samples of one zone and subject together as an average of their shift, when they lie
	// within so long from the first start to the last end; 0 for no such thing.
	CombineWithin time.Duration
	keys          Keys
	groups        []*TabledGroup
	byID          map[identity]*TabledGroup
	bySound       map[string]*TabledGroup
	problems      Problems
	vapors        func(agent string) Vapor
	rejected      table.Rejected
	// understood says how each table was read.
	understood []Understood
	notes      []string
}

// NewGrouping returns an empty grouping by the keys.
func NewGrouping(keys Keys) *Grouping {
	return &Grouping{keys: keys, byID: map[identity]*TabledGroup{}, bySound: map[string]*TabledGroup{}}
}

// Vapors says what is known of an agent, so that its readings and limits may be some in ppm and some in mg/m3; a molar mass of 0 says
// that nothing is. It is called before the tables are read; the numbers are expected to have passed their check.
func (g *Grouping) Vapors(of func(agent string) Vapor) { g.vapors = of }

// ReadCSV adds every row of a table of results, written as Source says. A row that is bad in itself is left out and counted as
// rejected; faults of the table as a whole, and of rows that contradict each other, are collected for Groups. The error is a
// failure of r.
func (g *Grouping) ReadCSV(file string, r io.Reader) error {
	c, err := NewCSV(file, r, g.Source)
	if err == nil {
		err = g.keys.check(c)
	}
	if err != nil {
		return g.collect(err)
	}
	for {
		row, err := c.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err == nil {
			err = g.Add(row)
		}
		if err == nil {
			continue
		}
		if err := g.collect(c.named(err)); err != nil {
			return err
		}
	}
	understood := c.Understood()
	if understood.Rows == 0 {
		g.problems.Add(Place{File: file}.Fault("", "has a header but no rows"))
	}
	g.understood = append(g.understood, understood)
	g.notes = append(g.notes, c.Notes()...)
	return nil
}

// collect keeps a bad row or a fault and returns any other error.
func (g *Grouping) collect(err error) error {
	var bad *table.BadRow
	var f *fault.Error
	switch {
	case errors.As(err, &bad) && !g.Source.Strict:
		g.rejected.Add(bad)
		return nil
	case errors.As(err, &f):
		g.problems.Add(f)
		return nil
	default:
		return err
	}
}

// Rejected counts the rows that were left out.
func (g *Grouping) Rejected() *table.Rejected { return &g.rejected }

// Understood says how each table was read.
func (g *Grouping) Understood() []Understood { return g.understood }

// Add puts one row into its group, with its result in the unit of the group's first row. The fault names the line and,
// where two lines disagree, both.
func (g *Grouping) Add(row Row) error {
	id, err := g.keys.identify(&row)
	if err != nil {
		return err
	}
	group, found := g.byID[id]
	if !found {
		group = &TabledGroup{Group: Group{Name: id.name(), Agent: row.Agent, Unit: row.Unit}, first: row.Place}
		if g.vapors != nil {
			group.vapor = g.vapors(row.Agent)
		}
		g.byID[id] = group
		g.groups = append(g.groups, group)
		g.compareSpelling(id, group)
	}
	return group.add(&row)
}

// compareSpelling notes groups whose names differ only in case or spaces.
func (g *Grouping) compareSpelling(id identity, group *TabledGroup) {
	sound := id.sound()
	other, found := g.bySound[sound]
	if !found {
		g.bySound[sound] = group
		return
	}
	g.notes = append(g.notes, fmt.Sprintf("%v: %s was taken as different from %s of %v, for a different spelling",
		group.first, group.title(), other.title(), other.first))
}

func (t *TabledGroup) title() string {
	if t.Name == "" {
		return fmt.Sprintf("%q", t.Agent)
	}
	return fmt.Sprintf("%q of %q", t.Agent, t.Name)
}

func (t *TabledGroup) add(row *Row) error {
	if row.Agent != t.Agent {
		return row.Fault("agent", "%q would be pooled with %q of %v; readings of different agents are never pooled: group by agent too",
			row.Agent, t.Agent, t.first)
	}
	if err := row.Reading.convert(row.Unit, t.Unit, t.vapor); err != nil {
		return row.Fault("unit", "%s (the unit of %v)", wordsOf(err), t.first)
	}
	if row.Limit != nil {
		if err := t.limit(*row.Limit, row.Place); err != nil {
			return at(row.Place, "limit", err)
		}
	}
	t.Readings = append(t.Readings, row.Reading)
	t.Places = append(t.Places, row.Place)
	return nil
}

// limit states the limit of the group; stated twice, it must be the same. One that takes a molar mass is kept in the unit of the
// readings.
func (t *TabledGroup) limit(l Limit, place Place) error {
	v, err := t.vapor.convert(l.Value, l.Unit, t.Unit)
	if err != nil {
		return fault.Invalid("", "%s (the unit of %v)", wordsOf(err), t.first)
	}
	if !ofOneKind(l.Unit, t.Unit) {
		l = Limit{Value: v, Unit: t.Unit}
	}
	if t.Limit == nil {
		t.Limit, t.limited = &l, place
		return nil
	}
	// The limits stated before converted without an error.
	if before, err := Convert(t.Limit.Value, t.Limit.Unit, t.Unit); err != nil || !same(v, before) {
		return fault.Invalid("", "%v is not the limit of %v, %v, although both are of one group", l, t.limited, *t.Limit)
	}
	return nil
}

// same allows for the rounding of a change of units.
func same(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Max(a, b) }

// Limit states one limit for every group. The fault says which other limit a row states, or that the readings are of several
// agents, for which one limit cannot be right.
func (g *Grouping) Limit(l Limit) error {
	if agents := g.agents(); len(agents) > 1 {
		return fault.Invalid("", "one limit cannot hold for %d agents (%s); state each agent's own, in a limit column "+
			"or a table of limits", len(agents), shortList(agents))
	}
	if units := g.units(); l.Unit == "" && len(units) > 1 {
		return fault.Invalid("", "%v has no unit, and the readings are in %s", l, shortList(units))
	}
	return g.limitEach(func(*TabledGroup) (Limit, Place, bool) { return l, Place{}, true })
}

// LimitByAgent states the limit of each group from a table of limits. A group whose agent the table lacks keeps what its rows
// state.
func (g *Grouping) LimitByAgent(limits *AgentLimits) error {
	return g.limitEach(func(t *TabledGroup) (Limit, Place, bool) { return limits.of(t.Agent) })
}

func (g *Grouping) limitEach(of func(*TabledGroup) (Limit, Place, bool)) error {
	var problems Problems
	for _, group := range g.groups {
		l, place, found := of(group)
		if !found {
			continue
		}
		if l.Unit == "" {
			l.Unit = group.Unit
		}
		if err := group.limit(l, place); err != nil {
			problems.Add(fault.Under(group.title(), err))
		}
	}
	return problems.Err()
}

func (g *Grouping) agents() []string {
	return g.distinct(func(t *TabledGroup) string { return t.Agent })
}

func (g *Grouping) units() []string {
	return g.distinct(func(t *TabledGroup) string { return string(t.Unit) })
}

// distinct lists the values that the groups have, in order of first appearance.
func (g *Grouping) distinct(value func(*TabledGroup) string) []string {
	var values []string
	seen := map[string]bool{}
	for _, group := range g.groups {
		if v := value(group); !seen[v] {
			seen[v] = true
			values = append(values, v)
		}
	}
	return values
}

// shortList names the first few.
func shortList(names []string) string {
	const shown = 4
	if len(names) <= shown {
		return table.List(names)
	}
	return strings.Join(names[:shown], ", ") + ", …"
}

// Groups returns the groups, or a fault that lists what was wrong with the tables. When every row was rejected, that is what is
// wrong. It is called once, after the tables.
func (g *Grouping) Groups() ([]*TabledGroup, error) {
	if err := g.problems.Err(); err != nil {
		return nil, err
	}
	if len(g.groups) == 0 {
		return nil, g.rejected.Err()
	}
	g.remark()
	if err := g.combine(); err != nil {
		return nil, err
	}
	return g.groups, nil
}

// combine takes the consecutive samples of each group together, if that is asked for.
func (g *Grouping) combine() error {
	var problems Problems
	for _, group := range g.groups {
		if g.CombineWithin <= 0 {
			break
		}
		if err := group.combine(g.CombineWithin); err != nil {
			problems.Add(err)
		}
	}
	return problems.Err()
}

// remark tells the reader of every group of rows that were left out: a row that cannot be read may be of any of them.
func (g *Grouping) remark() {
	rows := int64(0)
	for _, u := range g.understood {
		rows += u.Rows
	}
	text := g.rejected.Text(rows)
	if text == "" {
		return
	}
	for _, group := range g.groups {
		group.Remarks = []string{text}
	}
}

// Notes says what the reader of the groups must know: what of the tables was not read, and names that differ in spelling
// only.
func (g *Grouping) Notes() []string { return g.notes }
