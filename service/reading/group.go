package reading

import (
	"strings"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/table"
)

// Keys are the columns whose values readings share when they are judged together.
type Keys uint8

const (
	// ByZone keeps zones apart.
	ByZone Keys = 1 << iota
	// ByAgent keeps agents apart.
	ByAgent
	// BySubject keeps subjects apart.
	BySubject
	// ByCampaign keeps campaigns apart.
	ByCampaign
)

// DefaultKeys keep zones and agents apart.
const DefaultKeys = ByZone | ByAgent

func keyNames() []string { return []string{"zone", "agent", "subject", "campaign"} }

// ParseKeys reads names of columns separated by commas, in any order and case.
func ParseKeys(s string) (Keys, error) {
	var keys Keys
	for name := range strings.SplitSeq(s, ",") {
		key, err := parseKey(strings.ToLower(strings.TrimSpace(name)))
		if err != nil {
			return 0, err
		}
		keys |= key
	}
	return keys, nil
}

func parseKey(name string) (Keys, error) {
	for i, known := range keyNames() {
		if name == known {
			return 1 << i, nil
		}
	}
	return 0, fault.Invalid("", "%q is not a column to group by; accepted are %s", name, table.List(keyNames()))
}

// String writes the keys as ParseKeys reads them.
func (k Keys) String() string {
	var names []string
	for i, name := range keyNames() {
		if k&(1<<i) != 0 {
			names = append(names, name)
		}
	}
	return strings.Join(names, ",")
}

// check refuses a table that lacks the column of a key; said once, not for every row.
func (k Keys) check(c *CSV) error {
	var problems Problems
	for i, name := range keyNames() {
		if k&(1<<i) != 0 && !c.has(name) {
			problems.Add(Place{File: c.columns.file}.Fault("", "has no column %s, but the readings are grouped by it", name))
		}
	}
	return problems.Err()
}

// identity is what the readings of a group share; what is not a key is empty.
type identity struct{ zone, agent, subject, campaign string }

// identify returns the identity of a row, and a fault when a key has no value: rows without one would be pooled unseen.
func (k Keys) identify(row *Row) (identity, error) {
	var id identity
	values := [...]struct {
		from string
		to   *string
	}{
		{row.Reading.Zone, &id.zone}, {row.Agent, &id.agent}, {row.Reading.Subject, &id.subject}, {row.Reading.Campaign, &id.campaign},
	}
	for i, value := range values {
		if k&(1<<i) == 0 {
			continue
		}
		if value.from == "" {
			return identity{}, row.Bad(keyNames()[i], "is empty, but the readings are grouped by it; fill it, or group by other columns")
		}
		*value.to = value.from
	}
	return id, nil
}

// name joins what tells the group from the others of its agent.
func (id identity) name() string {
	var parts []string
	for _, part := range [...]string{id.zone, id.subject, id.campaign} {
		if part != "" {
			parts = append(parts, part)
		}
	}
	return strings.Join(parts, " / ")
}

// sound is the identity without regard to case and spaces.
func (id identity) sound() string {
	return sound(id.zone) + "\x00" + sound(id.agent) + "\x00" + sound(id.subject) + "\x00" + sound(id.campaign)
}

func sound(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }
