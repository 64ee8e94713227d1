package reading_test

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"example.com/tailbound/service/reading"
)

// 29 CFR 1910.1000(d)(2), the worked example: 500 ppm of a limit of 1000, 45 of 200 and 40 of 200 give .500 + .225 + .200 = .925,
// which is below 1.
func TestAdditiveIndexOfTheRegulation(t *testing.T) {
	t.Parallel()
	index, err := reading.AdditiveIndex([]reading.Component{{reading.At(500), 1000}, {reading.At(45), 200}, {reading.At(40), 200}})
	require.NoError(t, err)
	require.Equal(t, reading.Detected, index.Kind)
	require.InDelta(t, 0.925, index.Lower, 1e-15)
	require.Equal(t, index.Lower, index.Upper)
}

func TestAdditiveIndexCarriesRanges(t *testing.T) {
	t.Parallel()
	at, under, over, within := reading.At(0.5), reading.Under(0.25), reading.Over(2), reading.Within(0.25, 0.5)
	cases := []struct {
		name  string
		parts []reading.Reading
		want  reading.Reading
	}{
		{"one value", []reading.Reading{at}, at},
		{"value and non-detect", []reading.Reading{at, under}, reading.Within(0.5, 0.75)},
		{"non-detects", []reading.Reading{under, under}, reading.Under(0.5)},
		{"non-detect and band", []reading.Reading{under, within}, reading.Within(0.25, 0.75)},
		{"non-detect and band from 0", []reading.Reading{under, reading.Within(0, 0.5)}, reading.Within(0, 0.75)},
		{"bands", []reading.Reading{within, within}, reading.Within(0.5, 1)},
		{"value and over range", []reading.Reading{at, over}, reading.Over(2.5)},
		{"non-detect and over range", []reading.Reading{under, over}, reading.Over(2)},
		{"over range twice", []reading.Reading{over, over}, reading.Over(4)},
		{"non-detect too little to count", []reading.Reading{at, reading.Under(1e-20)}, at},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			var components []reading.Component
			for _, r := range c.parts {
				components = append(components, reading.Component{Reading: r, Limit: 1})
			}
			got, err := reading.AdditiveIndex(components)
			require.NoError(t, err)
			require.Equal(t, c.want, got)
		})
	}
}

func TestAdditiveIndexRefuses(t *testing.T) {
	t.Parallel()
	_, err := reading.AdditiveIndex(nil)
	require.ErrorContains(t, err, "has no component")
	for _, limit := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		_, err = reading.AdditiveIndex([]reading.Component{{reading.At(1), limit}})
		require.ErrorContains(t, err, "limit")
	}
	for _, r := range []reading.Reading{reading.At(1e300), reading.Under(1e300), reading.Within(1, 1e300)} {
		_, err = reading.AdditiveIndex([]reading.Component{{r, 1e-300}})
		require.ErrorContains(t, err, "+Inf", r)
	}
}

// Wherever the true concentrations lie in their ranges, the true index lies in the range of the index; and the order of the
// components changes no bit.
func TestAdditiveIndexEnclosesTheTruth(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var components []reading.Component
		truth := 0.0
		for range rapid.IntRange(1, 6).Draw(t, "components") {
			c := reading.Component{Limit: rapid.Float64Range(0.01, 100).Draw(t, "limit")}
			x := rapid.Float64Range(0.001, 1000).Draw(t, "concentration")
			switch rapid.IntRange(0, 3).Draw(t, "kind") {
			case 0:
				c.Reading = reading.At(x)
			case 1:
				c.Reading = reading.Under(x * 1.5)
			case 2:
				c.Reading = reading.Over(x / 1.5)
			default:
				c.Reading = reading.Within(x/2, x*2)
			}
			components = append(components, c)
			truth += x / c.Limit
		}
		index, err := reading.AdditiveIndex(components)
		require.NoError(t, err)
		require.LessOrEqual(t, index.Lower, truth*(1+1e-14))
		require.GreaterOrEqual(t, index.Upper, truth*(1-1e-14))
		slices.Reverse(components)
		again, err := reading.AdditiveIndex(components)
		require.NoError(t, err)
		require.Equal(t, index, again)
	})
}

func mixtures(t *testing.T, table string, agents ...string) ([]*reading.TabledGroup, []string, error) {
	t.Helper()
	g := reading.NewGrouping(reading.DefaultKeys)
	require.NoError(t, g.ReadCSV("shop.csv", strings.NewReader(table)))
	_, err := g.Groups()
	require.NoError(t, err)
	groups, err := g.Mixtures(agents)
	return groups, g.Notes(), err
}

func TestMixturesOfATable(t *testing.T) {
	t.Parallel()
	groups, notes, err := mixtures(t, `zone,agent,result,unit,limit,start,minutes,subject,id
shop,toluene,40,mg/m3,200,2026-03-04T06:00:00Z,480,P1,
shop,xylene,<20,mg/m3,200,2026-03-04T07:00:00+01:00,480,P1,
shop,xylene,50000,ug/m3,200mg/m3,2026-03-04T06:00:00Z,480,P2,
shop,toluene,60,mg/m3,200,2026-03-04T06:00:00Z,480,P2,
shop,dust,1,mg/m3,,2026-03-04T06:00:00Z,480,P2,
yard,toluene,60,mg/m3,200,,,,s1
hall,xylene,60,mg/m3,200,,,,s1
hall,toluene,20,mg/m3,200,,,,s1
`, "toluene", "xylene")
	require.NoError(t, err)
	require.Len(t, groups, 2)
	shop, hall := groups[0], groups[1]
	require.Equal(t, "shop", shop.Name)
	require.Equal(t, "mixture of toluene, xylene", shop.Agent)
	require.Equal(t, reading.Limit{Value: 1}, *shop.Limit)
	require.Empty(t, shop.Unit)
	require.Len(t, shop.Readings, 2)
	start := time.Date(2026, 3, 4, 6, 0, 0, 0, time.UTC)
	first := shop.Readings[0]
	require.Equal(t, reading.Between, first.Kind)
	require.InDelta(t, 0.2, first.Lower, 1e-15)
	require.InDelta(t, 0.3, first.Upper, 1e-15)
	require.Equal(t, "P1", first.Subject)
	require.Equal(t, start, first.Start.UTC())
	require.Equal(t, 8*time.Hour, first.Duration)
	require.InDelta(t, 0.55, shop.Readings[1].Lower, 1e-15)
	require.Equal(t, "shop.csv line 2", shop.Places[0].String())
	require.InDelta(t, 0.4, hall.Readings[0].Upper, 1e-15)
	require.Equal(t, "s1", hall.Readings[0].ID)
	require.Contains(t, strings.Join(notes, "\n"), `"yard" has no mixture`)
}

func TestMixturesThatCannotBeFormed(t *testing.T) {
	t.Parallel()
	const head = "zone,agent,result,unit,limit,start,minutes,subject,id\nshop,a,1,ppm,10,2026-03-04,480,P1,\n"
	cases := map[string]string{
		`shop.csv line 3, column limit: "b" of "shop" has no limit`:         "shop,b,1,ppm,,2026-03-04,480,P1,\n",
		"shop.csv line 3, column start: is empty and there is no id":        "shop,b,1,ppm,10,,480,P1,\n",
		"shop.csv line 2: has no reading of b beside it":                    "shop,b,1,ppm,10,2026-03-05,480,P1,\n",
		"shop.csv line 3: has no reading of a beside it":                    "shop,b,1,ppm,10,2026-03-04,480,P2,\n",
		"shop.csv line 4: is a second reading of b":                         "shop,b,1,ppm,10,2026-03-04,480,P1,\nshop,b,1,ppm,10,2026-03-04,480,P1,\n",
		"shop.csv line 3, column minutes: are not those of shop.csv line 2": "shop,b,1,ppm,10,2026-03-04,240,P1,\n",
	}
	for want, rows := range cases {
		_, _, err := mixtures(t, head+rows)
		require.ErrorContains(t, err, want)
	}
	_, _, err := mixtures(t, head, "a", "c")
	require.ErrorContains(t, err, `"c" is no agent of the readings; these are a`)
	groups, notes, err := mixtures(t, head+"shop,b,1,ppm,10,2026-03-04,480,P1,\nyard,a,1,ppm,10,,,,s1\nyard,c,1,ppm,10,,,,s1\n", "a", "b", "c")
	require.NoError(t, err)
	require.Len(t, groups, 2)
	require.Equal(t, []string{
		`"shop" has no readings of c, so the index of its mixture is without it`,
		`"yard" has no readings of b, so the index of its mixture is without it`,
	}, notes)
}
