package decision

import (
	"regexp"
	"strings"
)

// Brief is the reason without its workings: what was compared with what. A list of many groups has room for no more. What the
// prose of a rule does not part is given whole.
func (d Decision) Brief() string {
	text := d.Reason
	if shaped.MatchString(text) {
		_, text, _ = strings.Cut(text, ". ")
	}
	if strings.HasPrefix(text, "UR = ") {
		if _, found, ok := strings.Cut(text, ", so the "); ok {
			text = "The " + found
		}
	}
	text = worked.ReplaceAllString(text, "")
	return strings.TrimSpace(strings.Replace(text, meanScope, "", 1))
}

var (
	// shaped is the sentence on mean and standard deviation with which most arguments open; see Evidence.shape.
	shaped = regexp.MustCompile(`^\d+ results?( \([^)]*\))?: (fitted )?mean of ln result `)
	// worked is how a limit came about, before its value.
	worked = regexp.MustCompile(`exp\(mean \+ [^)]*\) = `)
)
