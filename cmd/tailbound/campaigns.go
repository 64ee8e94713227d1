package main

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"example.com/tailbound/service/reading"
)

// campaign is the readings of one campaign of a group, and the first start of any; zero when one reading has none.
type campaign struct {
	name     string
	readings []reading.Reading
	first    time.Time
}

// campaignsOf divides each group into its campaigns: by the column campaign where a file has one, else by file.
func campaignsOf(groups []*reading.TabledGroup, order string) ([][]campaign, error) {
	files, named := map[string]bool{}, map[string]bool{}
	for _, g := range groups {
		for i, r := range g.Readings {
			file := g.Places[i].File
			files[file] = true
			named[file] = named[file] || r.Campaign != ""
		}
	}
	out := make([][]campaign, len(groups))
	for i, g := range groups {
		for j := range g.Readings {
			r, place := &g.Readings[j], g.Places[j]
			name := r.Campaign
			switch {
			case name != "":
			case named[place.File]:
				return nil, fmt.Errorf("%v: the column campaign is empty, but other rows of the file name theirs", place)
			case len(files) == 1:
				return nil, fmt.Errorf("%s: names no campaign; a comparison takes a column campaign, or one file for each campaign", place.File)
			default:
				name = strings.TrimSuffix(filepath.Base(place.File), filepath.Ext(place.File))
			}
			out[i] = addTo(out[i], name, r)
		}
		if order == byDate {
			sortByDate(out[i])
		}
	}
	return out, nil
}

// addTo adds a reading to its campaign.
func addTo(campaigns []campaign, name string, r *reading.Reading) []campaign {
	at := slices.IndexFunc(campaigns, func(c campaign) bool { return c.name == name })
	if at < 0 {
		return append(campaigns, campaign{name, []reading.Reading{*r}, r.Start})
	}
	c := &campaigns[at]
	if r.Start.Before(c.first) {
		c.first = r.Start
	}
	c.readings = append(c.readings, *r)
	return campaigns
}

// sortByDate orders campaigns by their first start, when all readings have one.
func sortByDate(campaigns []campaign) {
	if slices.ContainsFunc(campaigns, func(c campaign) bool { return c.first.IsZero() }) {
		return
	}
	slices.SortStableFunc(campaigns, func(a, b campaign) int { return a.first.Compare(b.first) })
}
