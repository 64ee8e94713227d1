package figure

import "example.com/tailbound/service/fault"

// missing is the fault of a figure whose data are absent.
func missing(what string) error {
	return fault.Unsettled("there is nothing to draw: the answer has no %s", what)
}
