package main

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/reading"
)

// notCompliant is what --fail-on accepts.
const notCompliant = "not-compliant"

// tally is what the exit code hangs on.
type tally struct {
	answers  int
	refusals []refused
	// failure is the last error of a group that was not its own fault.
	failure      error
	notCompliant bool
}

// refused is a group without an answer.
type refused struct{ title, why string }

// take prints one answer and counts it.
func (t *tally) take(answer client.Answer, groups []*reading.TabledGroup, output output) error {
	group := groups[answer.Index]
	t.answers++
	if answer.Err != nil {
		why := refusal(answer.Err, group)
		t.refusals = append(t.refusals, refused{titleOf(group), why})
		if !isRefusal(answer.Err) {
			t.failure = answer.Err
		}
		return output.refused(group, why)
	}
	if answer.Response.GetDecision().GetOutcome() == tailboundv1.Outcome_OUTCOME_NOT_COMPLIANT {
		t.notCompliant = true
	}
	return output.answered(answer.Response)
}

// common is the reason why every one of several groups was refused, such as a rule that the service does not have: a matter of
// the question, not of the groups. Empty when there is none.
func (t *tally) common() string {
	if len(t.refusals) < 2 || len(t.refusals) < t.answers {
		return ""
	}
	for _, r := range t.refusals {
		if r.why != t.refusals[0].why {
			return ""
		}
	}
	return t.refusals[0].why
}

// conclude tells the refusals and returns what the exit code is made of.
func (t *tally) conclude(s streams, failOnNotCompliant bool) error {
	if why := t.common(); why != "" {
		s.notef("%s", why)
	} else {
		for _, r := range t.refusals {
			s.notef("%s: %s", r.title, r.why)
		}
	}
	switch {
	case t.failure != nil:
		return errFailedGroup
	case len(t.refusals) > 0:
		return errRefused
	case t.notCompliant && failOnNotCompliant:
		return errNotCompliant
	}
	return nil
}

func titleOf(g *reading.TabledGroup) string {
	return strings.Join(strings.Fields(strings.TrimPrefix(g.Name+", "+g.Agent, ", ")), " ")
}

// refusal is why the service refused a group, in terms of the tables that it came from.
func refusal(err error, g *reading.TabledGroup) string {
	return readingPath.ReplaceAllStringFunc(strings.Join(sentences(err), "; "), func(path string) string {
		i, err := strconv.Atoi(readingPath.FindStringSubmatch(path)[1])
		if err != nil || i >= len(g.Places) {
			return path
		}
		return fmt.Sprint(g.Places[i])
	})
}

// readingPath is how the service names a reading, or a part of it, in an error.
var readingPath = regexp.MustCompile(`readings\[(\d+)\](?:\.\w+)*`)
