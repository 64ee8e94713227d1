package main

import (
	"strings"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/report"
)

// rulesText lists the rules for the help of assess: what each takes and what its outcomes mean.
func rulesText() string {
	var out strings.Builder
	for _, rule := range decision.Rules() {
		name := strings.ToLower(strings.ReplaceAll(rule.Name(), "_", "-"))
		out.WriteString("  " + name + ": " + rule.Title() + "\n")
		out.WriteString(report.Wrap("Takes "+rule.Needs()+".", "    ", "    ", report.DefaultWidth))
		out.WriteString(report.Wrap("Answers "+rule.Answers()+".", "    ", "    ", report.DefaultWidth))
	}
	return strings.TrimRight(out.String(), "\n")
}
