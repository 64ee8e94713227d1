package reading

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"example.com/tailbound/service/fault"
)

// Mixtures returns the additive index of the agents as groups of their own, one for each zone (or whatever else the readings are
// grouped by) with at least two of the agents, with the limit 1 and no unit; without agents all of a zone count. Readings belong
// together when they share start and subject or, without a start, id. It is called after the limits are stated.
//
// The fault lists what keeps an index from being formed: an agent without a limit, a reading that tells neither start nor id, two
// readings of one agent at one time, readings of different duration, or a reading without those of the other agents, since an
// index without them would be too low. An agent of the list that a zone lacks altogether is noted.
func (g *Grouping) Mixtures(agents []string) ([]*TabledGroup, error) {
	for _, agent := range agents {
		if !slices.Contains(g.agents(), agent) {
			return nil, fault.Invalid("", "%q is no agent of the readings; these are %s", agent, shortList(g.agents()))
		}
	}
	var problems Problems
	var mixtures []*TabledGroup
	for _, name := range g.distinct(func(t *TabledGroup) string { return t.Name }) {
		parts := g.parts(name, agents)
		if len(parts) < 2 {
			g.notes = append(g.notes, fmt.Sprintf("%s has no mixture: it takes readings of at least two of the agents", named(name)))
			continue
		}
		for _, agent := range agents {
			if !slices.ContainsFunc(parts, func(t *TabledGroup) bool { return t.Agent == agent }) {
				g.notes = append(g.notes, fmt.Sprintf("%s has no readings of %s, so the index of its mixture is without it", named(name), agent))
			}
		}
		mixtures = append(mixtures, mix(name, parts, &problems))
	}
	return mixtures, problems.Err()
}

func named(name string) string {
	if name == "" {
		return "the table"
	}
	return fmt.Sprintf("%q", name)
}

// parts are the groups of a mixture, in the order in which they first appear.
func (g *Grouping) parts(name string, agents []string) []*TabledGroup {
	var parts []*TabledGroup
	for _, t := range g.groups {
		if t.Name == name && (len(agents) == 0 || slices.Contains(agents, t.Agent)) {
			parts = append(parts, t)
		}
	}
	return parts
}

// moment is what readings that were taken together share.
type moment struct {
	start   time.Time
	subject string
	id      string
}

// taken is the readings of one moment, by the position of their agent in the mixture.
type taken struct {
	first      Reading
	place      Place
	components []Component
	seen       []bool
}

// mix forms the group of indices; what is wrong is collected.
func mix(name string, parts []*TabledGroup, problems *Problems) *TabledGroup {
	var order []*taken
	moments := map[moment]*taken{}
	for at, part := range parts {
		limit, err := part.ownLimit()
		if err != nil {
			problems.Add(err)
			continue
		}
		for i := range part.Readings {
			r, place := &part.Readings[i], part.Places[i]
			key, err := momentOf(r, place)
			if err != nil {
				problems.Add(err)
				continue
			}
			t := moments[key]
			if t == nil {
				t = &taken{first: *r, place: place, seen: make([]bool, len(parts))}
				moments[key] = t
				order = append(order, t)
			}
			problems.addAny(t.add(Component{*r, limit}, at, part.Agent, place))
		}
	}
	names := make([]string, len(parts))
	for i, part := range parts {
		names[i] = part.Agent
	}
	group := &TabledGroup{
		Group: Group{Name: name, Agent: "mixture of " + strings.Join(names, ", "), Limit: &Limit{Value: 1}, Remarks: parts[0].Remarks}, first: parts[0].first,
	}
	for _, t := range order {
		index, err := t.index(names)
		problems.addAny(err)
		group.Readings, group.Places = append(group.Readings, index), append(group.Places, t.place)
	}
	return group
}

// addAny adds a fault if there is one.
func (p *Problems) addAny(err error) {
	if err != nil {
		p.Add(err)
	}
}

// ownLimit is the limit of the group in its unit.
func (t *TabledGroup) ownLimit() (float64, error) {
	if t.Limit == nil {
		return 0, t.first.Fault("limit", "%s has no limit, which its part of a mixture takes", t.title())
	}
	return Convert(t.Limit.Value, t.Limit.Unit, t.Unit)
}

func momentOf(r *Reading, place Place) (moment, error) {
	switch {
	case !r.Start.IsZero():
		// Times with different zones are equal only to Equal, not as a key.
		return moment{start: r.Start.UTC(), subject: r.Subject}, nil
	case r.ID != "":
		return moment{id: r.ID, subject: r.Subject}, nil
	}
	return moment{}, place.Fault("start", "is empty and there is no id, so what else was measured at the same time is not known")
}

func (t *taken) add(c Component, at int, agent string, place Place) error {
	switch {
	case t.seen[at]:
		return place.Fault("", "is a second reading of %s at the time of %v; tell them apart by their subject", agent, t.place)
	case c.Reading.Duration != t.first.Duration:
		return place.Fault("minutes", "are not those of %v, although both are of one time", t.place)
	}
	t.seen[at] = true
	t.components = append(t.components, c)
	return nil
}

// index is the additive index of the moment, with what its readings share.
func (t *taken) index(names []string) (Reading, error) {
	for i, seen := range t.seen {
		if !seen {
			return Reading{}, t.place.Fault("", "has no reading of %s beside it, and an index without it would be too low; state one that was "+
				"not detected as below its reporting limit", names[i])
		}
	}
	r, err := AdditiveIndex(t.components)
	if err != nil {
		return Reading{}, t.place.Fault("", "%v", err)
	}
	r.Zone, r.Subject, r.Campaign, r.ID = t.first.Zone, t.first.Subject, t.first.Campaign, t.first.ID
	r.Start, r.Duration = t.first.Start, t.first.Duration
	return r, nil
}
