package document

import (
	"strconv"
	"strings"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/report"
)

// used is a method or the source of a rule, and the groups that it was used for. Groups share most of them, so that a report has
// them once, at its end.
type used struct {
	report.Method

	// Groups are numbers of groups, ascending; Where writes them.
	groups []int
	Where  string
}

// methods lists how the numbers about a group were found.
func methods(w *words, a *report.Assessment) []report.Method {
	out := append([]report.Method(nil), a.Methods...)
	for i := range out {
		if name, known := w.Quantities[out[i].Quantity]; known {
			out[i].Quantity = name
		}
	}
	return out
}

// ruleSources lists the rules that were applied to a group, with what their outcomes mean.
func ruleSources(a *report.Assessment) []report.Method {
	var out []report.Method
	for i := range a.Decisions {
		d := &a.Decisions[i]
		if d.Outcome != decision.NoOutcome {
			out = append(out, report.Method{Quantity: d.Rule.Title(), Method: d.Rule.Answers(), Source: d.Source})
		}
	}
	return out
}

// gather puts the methods of all groups together: those about one quantity side by side, in the order in which they first
// appear.
func gather(w *words, sections []*Section, of func(*Section) []report.Method) []used {
	var order []string
	byQuantity := map[string][]used{}
	for _, s := range sections {
		for _, m := range of(s) {
			list := byQuantity[m.Quantity]
			if list == nil {
				order = append(order, m.Quantity)
			}
			byQuantity[m.Quantity] = noted(list, m, s.row.Number)
		}
	}
	var out []used
	for _, quantity := range order {
		out = append(out, byQuantity[quantity]...)
	}
	for i := range out {
		out[i].Where = w.where(out[i].groups, len(sections))
	}
	return out
}

// noted adds a group to what used a method.
func noted(list []used, m report.Method, group int) []used {
	for i := range list {
		if list[i].Method == m {
			list[i].groups = append(list[i].groups, group)
			return list
		}
	}
	return append(list, used{Method: m, groups: []int{group}})
}

// where writes numbers of groups, runs of them as ranges.
func (w *words) where(groups []int, all int) string {
	if len(groups) == all {
		return w.AllGroups
	}
	var parts []string
	for i := 0; i < len(groups); {
		j := i
		for j+1 < len(groups) && groups[j+1] == groups[j]+1 {
			j++
		}
		part := strconv.Itoa(groups[i])
		if j > i {
			part += "–" + strconv.Itoa(groups[j])
		}
		parts = append(parts, part)
		i = j + 1
	}
	return strings.Join(parts, ", ")
}
