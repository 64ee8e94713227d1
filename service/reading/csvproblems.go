package reading

import (
	"errors"
	"fmt"
	"slices"

	"example.com/tailbound/service/fault"
)

// shownProblems is how many violations are kept one by one: enough to see the pattern, few enough to read.
const shownProblems = 20

// Problems collects what is wrong with a table, so that all of it is told at once.
type Problems struct {
	violations []fault.Violation
	more       int
}

// Add takes the violations of a fault; any other error becomes a violation of its own.
func (p *Problems) Add(err error) {
	var f *fault.Error
	if !errors.As(err, &f) {
		f = fault.Invalid("", "%v", err)
	}
	for _, v := range f.Violations {
		if len(p.violations) < shownProblems {
			p.violations = append(p.violations, v)
		} else {
			p.more++
		}
	}
}

// Err is a fault that lists the first 20 violations and says how many more there are; nil when there are none.
func (p *Problems) Err() error {
	if len(p.violations) == 0 {
		return nil
	}
	f := &fault.Error{Code: fault.InvalidArgument, Violations: p.violations}
	if p.more > 0 {
		f.Violations = append(slices.Clip(f.Violations),
			fault.Violation{Field: "", Text: fmt.Sprintf("and %d more", p.more)})
	}
	return f
}
