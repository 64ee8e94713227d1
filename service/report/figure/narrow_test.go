package figure

import (
	"bytes"
	"encoding/xml"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/report/figure/sheet"
)

// bodySize is that of most letters, in units of a sheet.
const bodySize = 12.0

// textBox is a line of a figure with the box that it takes.
type textBox struct {
	words                    string
	left, right, top, bottom float64
}

// texts are the lines of a figure; the letters are those of package figure, as wide as the usual ones.
func texts(tb testing.TB, svg []byte) (boxes []textBox, width, height float64) {
	tb.Helper()
	var doc struct {
		Width  float64 `xml:"width,attr"`
		Height float64 `xml:"height,attr"`
		Texts  []struct {
			X      float64 `xml:"x,attr"`
			Y      float64 `xml:"y,attr"`
			Anchor string  `xml:"text-anchor,attr"`
			Size   string  `xml:"font-size,attr"`
			Weight string  `xml:"font-weight,attr"`
			Words  string  `xml:",chardata"`
		} `xml:"text"`
	}
	require.NoError(tb, xml.Unmarshal(svg, &doc))
	for _, t := range doc.Texts {
		l, size := sheet.Letters(sheet.Ink), bodySize
		if t.Weight == "bold" {
			l = l.Strong()
		}
		if t.Size != "" {
			var err error
			size, err = strconv.ParseFloat(t.Size, 64)
			require.NoError(tb, err)
		}
		wide := l.Width(t.Words) * size / bodySize
		left := t.X
		switch t.Anchor {
		case "middle":
			left -= wide / 2
		case "end":
			left -= wide
		}
		boxes = append(boxes, textBox{t.Words, left, left + wide, t.Y - 0.72*size, t.Y + 0.1*size})
	}
	return boxes, doc.Width, doc.Height
}

// TestNarrow holds the narrow figures to what they are for: no letter is cut off or lies over another one, no number is cut in its
// middle, and printed two to a row on A4 with margins of 16 mm (87 mm each) the letters have 7.5 points and more.
func TestNarrow(t *testing.T) {
	t.Parallel()
	const column = 87 / 25.4 * 72
	require.GreaterOrEqual(t, bodySize*column/sheet.NarrowWidth, 7.5)
	for _, s := range shapes() {
		for _, d := range groupDrawings(t, s, s.name == "mixed" || s.name == "three") {
			t.Run(d.name, func(t *testing.T) {
				t.Parallel()
				var out, again bytes.Buffer
				if d.draw(&out, NarrowSVG) != nil {
					require.Error(t, d.draw(&again, SVG), "what the wide figure shows the narrow one shows")
					return
				}
				require.NoError(t, d.draw(&again, NarrowSVG))
				require.Equal(t, out.String(), again.String())
				wellFormed(t, out.Bytes())
				boxes, width, height := texts(t, out.Bytes())
				require.InDelta(t, sheet.NarrowWidth, width, 0)
				checkBoxes(t, boxes, width, height)
				if d.kept {
					golden(t, "narrow-"+d.name+".svg", out.Bytes())
				}
			})
		}
	}
}

func checkBoxes(t *testing.T, boxes []textBox, width, height float64) {
	t.Helper()
	for i, a := range boxes {
		require.GreaterOrEqual(t, a.left, 0.0, a.words)
		require.LessOrEqual(t, a.right, width, a.words)
		require.GreaterOrEqual(t, a.top, 0.0, a.words)
		require.LessOrEqual(t, a.bottom, height, a.words)
		if strings.Contains(a.words, "limits") {
			require.NotContains(t, a.words, "…")
		}
		for _, b := range boxes[:i] {
			apart := a.left >= b.right || b.left >= a.right || a.top >= b.bottom || b.top >= a.bottom
			require.True(t, apart, "%q lies over %q", a.words, b.words)
		}
	}
}
