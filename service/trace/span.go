package trace

import (
	"strconv"
	"strings"
	"time"
)

// Length writes a length of time as people do, every part of it: "8 h", "1 h 30 min", "90 ms".
func Length(d time.Duration) string {
	if d < 0 {
		return "-" + Length(-d)
	}
	var parts []string
	for _, u := range [...]struct {
		unit time.Duration
		name string
	}{{time.Hour, " h"}, {time.Minute, " min"}} {
		if n := d / u.unit; n > 0 {
			parts = append(parts, strconv.FormatInt(int64(n), 10)+u.name)
			d %= u.unit
		}
	}
	switch {
	case d >= time.Second || d == 0 && len(parts) == 0:
		parts = append(parts, strconv.FormatFloat(d.Seconds(), 'f', -1, 64)+" s")
	case d > 0:
		parts = append(parts, strconv.FormatFloat(float64(d)/float64(time.Millisecond), 'f', -1, 64)+" ms")
	}
	return strings.Join(parts, " ")
}
