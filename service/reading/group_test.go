package reading

import (
	"errors"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/table"
)

func TestParseKeys(t *testing.T) {
	t.Parallel()
	keys, err := ParseKeys(" Zone,AGENT ")
	require.NoError(t, err)
	require.Equal(t, DefaultKeys, keys)
	require.Equal(t, "zone,agent", keys.String())
	keys, err = ParseKeys("campaign,subject,zone,agent")
	require.NoError(t, err)
	require.Equal(t, "zone,agent,subject,campaign", keys.String())
	for _, bad := range []string{"", "zone,", "shift"} {
		_, err = ParseKeys(bad)
		require.ErrorContains(t, err, "is not a column to group by; accepted are zone, agent, subject and campaign")
	}
}

// group reads tables by the keys.
func group(t *testing.T, keys Keys, tables ...string) *Grouping {
	t.Helper()
	g := NewGrouping(keys)
	g.Source.Strict = true
	for i, text := range tables {
		require.NoError(t, g.ReadCSV(string(rune('a'+i))+".csv", strings.NewReader(text)))
	}
	return g
}

func TestGroupingKeepsOrderAndConverts(t *testing.T) {
	t.Parallel()
	g := group(t, DefaultKeys,
		"zone,agent,result,unit,limit\nkiln,quartz,0.035,mg/m3,\nglaze,quartz,1,mg/m3,\nkiln,quartz,<35,µg/m3,50µg/m3\n",
		"zone,agent,result,unit,limit\nkiln,lead,3,ug/m3,\nkiln,quartz,0.02..0.07,mg / m³,0.05\n")
	groups, err := g.Groups()
	require.NoError(t, err)
	require.Empty(t, g.Notes())
	require.Len(t, groups, 3)
	kiln := groups[0]
	require.Equal(t, "kiln", kiln.Name)
	require.Equal(t, "quartz", kiln.Agent)
	require.Equal(t, Unit("mg/m3"), kiln.Unit)
	require.Equal(t, &Limit{50, "µg/m3"}, kiln.Limit)
	require.Equal(t, []Place{{File: "a.csv", Line: 2}, {File: "a.csv", Line: 4}, {File: "b.csv", Line: 3}}, kiln.Places)
	want := []Reading{At(0.035), Under(0.035), Within(0.02, 0.07)}
	for i := range want {
		want[i].Zone = "kiln"
	}
	require.Equal(t, want, kiln.Readings)
	require.Equal(t, "glaze", groups[1].Name)
	require.Equal(t, "lead", groups[2].Agent)
}

func TestGroupingByOtherKeys(t *testing.T) {
	t.Parallel()
	const table = "zone,agent,subject,campaign,result,unit\nkiln,quartz,P1,spring,1,ppm\nglaze,quartz,P1,spring,2,ppm\nkiln,quartz,P1,fall,3,ppm\n"
	names := func(keys Keys) []string {
		groups, err := group(t, keys, table).Groups()
		require.NoError(t, err)
		var names []string
		for _, g := range groups {
			names = append(names, g.Name)
		}
		return names
	}
	require.Equal(t, []string{"kiln", "glaze"}, names(ByZone))
	require.Equal(t, []string{""}, names(ByAgent))
	require.Equal(t, []string{"P1 / spring", "P1 / fall"}, names(ByAgent|BySubject|ByCampaign))
	require.Equal(t, []string{"kiln / spring", "glaze / spring", "kiln / fall"}, names(DefaultKeys|ByCampaign))
}

func TestGroupingNamesWhatDisagrees(t *testing.T) {
	t.Parallel()
	const head = "zone,agent,result,unit,limit\n"
	cases := []struct {
		name, table, want string
		keys              Keys
	}{
		{"unit", head + "k,q,1,mg/m3,\nk,q,1,ppm,\n", `a.csv line 3, column unit: "ppm" cannot be converted to "mg/m3" without the molar mass of the agent; accepted is "mg/m3" or another ` +
			`unit of mass per volume (the unit of a.csv line 2)`, DefaultKeys},
		{"limit", head + "k,q,1,mg/m3,0.5\nk,q,1,mg/m3,\nk,q,1,µg/m3,600\n", "a.csv line 4, column limit: 600 µg/m3 is not the limit of a.csv line 2, " +
			"0.5 mg/m3, although both are of one group", DefaultKeys},
		{"limit unit", head + "k,q,1,mg/m3,5ppm\n", `a.csv line 2, column limit: "ppm" cannot be converted to "mg/m3" without the molar mass of the agent; accepted is "mg/m3" or another ` +
			`unit of mass per volume (the unit of a.csv line 2)`, DefaultKeys},
		{"agents", head + "k,q,1,mg/m3,\nk,lead,1,mg/m3,\n", `a.csv line 3, column agent: "lead" would be pooled with "q" of a.csv line 2; readings of ` +
			`different agents are never pooled: group by agent too`, ByZone},
		{"empty key", head + "k,q,1,mg/m3,\n,q,1,mg/m3,\n", "a.csv line 3, column zone: is empty, but the readings are grouped by it; fill it, or group by other columns", DefaultKeys},
		{"key without a column", head + "k,q,1,mg/m3,\n", "a.csv: has no column subject, but the readings are grouped by it", ByAgent | BySubject},
		{"no rows", head + "# nothing\n", "a.csv: has a header but no rows", DefaultKeys},
		{"bad header", "zone\n", "a.csv line 1: the header has no agent, result and unit; required are zone, agent, result and unit", DefaultKeys},
		{"too small in the unit", head + "k,q,1,kg/m3,\nk,q,1e-305,ng/m3,\n", "a.csv line 3, column unit: is 1e-317; accepted is a finite number greater " +
			"than 0 (the unit of a.csv line 2)", DefaultKeys},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			_, err := group(t, c.keys, c.table).Groups()
			require.Equal(t, []string{c.want}, texts(t, err))
		})
	}
}

func TestGroupingNotesSpelling(t *testing.T) {
	t.Parallel()
	g := group(t, DefaultKeys, "zone,agent,result,unit\nKiln  room,quartz,1,ppm\nkiln room,Quartz,1,ppm\nglaze,Quartz,1,ppm\n")
	groups, err := g.Groups()
	require.NoError(t, err)
	require.Len(t, groups, 3)
	require.Equal(t, []string{`a.csv line 3: "Quartz" of "kiln room" was taken as different from "quartz" of "Kiln  room" of a.csv line 2, ` +
		`for a different spelling`}, g.Notes())
}

func TestGroupingPassesAFailureOn(t *testing.T) {
	t.Parallel()
	broken := errors.New("the disk is gone")
	require.ErrorIs(t, NewGrouping(DefaultKeys).ReadCSV("a.csv", iotest.ErrReader(broken)), broken)
	require.ErrorIs(t, NewGrouping(DefaultKeys).ReadCSV("a.csv",
		iotest.TimeoutReader(iotest.OneByteReader(strings.NewReader("zone,agent,result,unit\n")))), iotest.ErrTimeout)
}

func TestOneLimitForAll(t *testing.T) {
	t.Parallel()
	const head = "zone,agent,result,unit,limit\n"
	g := group(t, DefaultKeys, head+"k,q,1,mg/m3,\nm,q,1,ug/m3,500\n")
	require.ErrorContains(t, g.Limit(Limit{0.5, ""}), "0.5 has no unit, and the readings are in mg/m3 and ug/m3")
	require.NoError(t, g.Limit(Limit{0.5, "mg/m3"}))
	groups, err := g.Groups()
	require.NoError(t, err)
	require.Equal(t, &Limit{0.5, "mg/m3"}, groups[0].Limit)
	require.Equal(t, &Limit{500, "ug/m3"}, groups[1].Limit)

	g = group(t, DefaultKeys, head+"k,q,1,mg/m3,0.4\n")
	require.ErrorContains(t, g.Limit(Limit{0.5, "mg/m3"}), `"q" of "k": 0.5 mg/m3 is not the limit of a.csv line 2, 0.4 mg/m3`)
	g = group(t, DefaultKeys, head+"k,q,1,mg/m3,\n")
	require.ErrorContains(t, g.Limit(Limit{0.5, "ppm"}), `"q" of "k": "ppm" cannot be converted to "mg/m3"`)
	require.NoError(t, g.Limit(Limit{0.5, ""}))
	groups, err = g.Groups()
	require.NoError(t, err)
	require.Equal(t, &Limit{0.5, "mg/m3"}, groups[0].Limit)
	g = group(t, DefaultKeys, head+"k,q1,1,mg/m3,\nk,q2,1,mg/m3,\nk,q3,1,mg/m3,\nk,q4,1,mg/m3,\nk,q5,1,mg/m3,\n")
	require.ErrorContains(t, g.Limit(Limit{0.5, "mg/m3"}), "one limit cannot hold for 5 agents (q1, q2, q3, q4, …); state each agent's own")
}

func TestLimitsByAgent(t *testing.T) {
	t.Parallel()
	limits, err := ReadLimits("l.csv", strings.NewReader("# Invented.\nunit,Agent,limit,basis\nmg/m3,Quartz,0.05,x\n,lead,50 ug/m3,\n%,gas,0.5%,\n"), table.Format{})
	require.NoError(t, err)
	require.Equal(t, []string{"l.csv: not read: column basis; known are agent, limit and unit"}, limits.Notes())
	g := group(t, DefaultKeys, "zone,agent,result,unit,limit\nk,quartz,1,mg/m3,\nk,lead,1,mg/m3,0.05\nk,dust,1,mg/m3,4\nk,smoke,1,mg/m3,\n")
	require.NoError(t, g.LimitByAgent(limits))
	groups, err := g.Groups()
	require.NoError(t, err)
	require.Equal(t, &Limit{0.05, "mg/m3"}, groups[0].Limit)
	require.Equal(t, &Limit{0.05, "mg/m3"}, groups[1].Limit)
	require.Equal(t, &Limit{4, "mg/m3"}, groups[2].Limit)
	require.Nil(t, groups[3].Limit)

	g = group(t, DefaultKeys, "zone,agent,result,unit,limit\nk,quartz,1,mg/m3,0.1\nk,lead,1,ppm,\n")
	require.Equal(t, []string{
		`"quartz" of "k": 0.05 mg/m3 is not the limit of a.csv line 2, 0.1 mg/m3, although both are of one group`,
		`"lead" of "k": "ug/m3" cannot be converted to "ppm" without the molar mass of the agent; accepted is "ppm" or another unit of volume per volume (the unit of a.csv line 3)`,
	}, texts(t, g.LimitByAgent(limits)))
}

func TestReadLimitsNamesWhatIsWrong(t *testing.T) {
	t.Parallel()
	_, err := ReadLimits("l.csv", strings.NewReader("agent,limit,unit\nquartz,0.05,\n,1,ppm\nlead,0.05mg/m3,ppm\ndust,4,mg/m3\nDUST,4,mg/m3\nsmoke,,mg/m3\na,b\n"), table.Format{})
	require.Equal(t, []string{
		"l.csv line 2, column unit: is empty; a limit has a unit",
		"l.csv line 3, column agent: is empty",
		`l.csv line 4, column unit: is "ppm", but the limit is written in "mg/m3"`,
		`l.csv line 6, column agent: "DUST" has a limit in l.csv line 5 already`,
		"l.csv line 7, column limit: is empty; accepted is a number with its unit, such as 0.5mg/m3",
		"l.csv line 8: has 2 cells where the header has 3",
	}, texts(t, err))
	_, err = ReadLimits("l.csv", strings.NewReader("agent,value\n"), table.Format{})
	require.ErrorContains(t, err, "l.csv line 1: the header has no limit; required are agent and limit; it has the unknown value")
	broken := errors.New("the disk is gone")
	_, err = ReadLimits("l.csv", iotest.ErrReader(broken), table.Format{})
	require.ErrorIs(t, err, broken)
}
