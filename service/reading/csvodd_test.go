package reading

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Rows behind a header with its columns in another order are not read by the first.
func TestCSVWithAnotherHeader(t *testing.T) {
	t.Parallel()
	const head = "zone,agent,result,unit,limit\n"
	_, faults, _ := readAll(t, head+"a,b,0.5,ppm,5\nzone,agent,limit,unit,result\n")
	require.Equal(t, []string{"t.csv line 3: names the columns otherwise than the header on line 1; divide the file there, so that each part has one header"}, faults)
	rows, faults, notes := readAll(t, head+"a,b,0.5,ppm,5\nZone, agent ,result,unit,limit\na,b,0.6,ppm,5\n")
	require.Empty(t, faults)
	require.Len(t, rows, 2)
	require.Equal(t, []string{"t.csv: the header is repeated on 1 line, which was passed over"}, notes)
}

// The decimal mark is looked for where numbers stand, and not in names.
func TestCSVNamesWithMarks(t *testing.T) {
	t.Parallel()
	rows, faults, _ := readAll(t, "zone,agent,result,unit\n\"3,14\",b,2,ppm\n\"3,14\",b,2.5,ppm\n\"1,234\",b,3,ppm\n")
	require.Empty(t, faults)
	require.Len(t, rows, 3)
	require.Equal(t, 2.5, rows[1].Reading.Lower)
	_, faults, _ = readAll(t, "zone;agent;result;unit\na;b;900;ppm\na;b;1.234;ppm\n")
	require.Len(t, faults, 1)
	require.Contains(t, faults[0], `has numbers such as "1.234", in which the point may be the decimal mark or stand between thousands`)
}

// A mark far behind rows without decimals is not guessed at.
func TestCSVUnsureNumbers(t *testing.T) {
	t.Parallel()
	var text strings.Builder
	text.WriteString("zone;agent;result;unit;limit\n")
	for text.Len() < 1<<20+100 {
		text.WriteString("a;b;900;ppm;\n")
	}
	text.WriteString("a;b;1.234;ppm;\na;b;5;ppm;1.000\na;b;1.5..1.750;ppm;2.5\n")
	_, faults, _ := readAll(t, text.String())
	require.Len(t, faults, 3)
	for i, start := range []string{`"1.234" may have its point`, `"1.000" may have`, `"1.5..1.750" may have`} {
		require.Contains(t, faults[i], start)
	}
}

// A number looks as right when it is cut; a unit is checked by itself.
func TestCSVThatEndsInANumber(t *testing.T) {
	t.Parallel()
	_, faults, notes := readAll(t, "zone,agent,unit,result\na,b,ppm,0.5\na,b,ppm,12")
	require.Empty(t, faults)
	require.Equal(t, []string{"t.csv line 3: the file ends without the end of this line; if it was cut off, its last number may be cut too"}, notes)
	_, _, notes = readAll(t, "zone,agent,result,unit\na,b,0.5,ppm")
	require.Empty(t, notes)
}
