package figure

import (
	"image/color"
	"sync"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// pen puts lines, areas and words on a sheet. Its origin is the bottom left corner.
type pen interface {
	stroke(path vg.Path, l line)
	fill(path vg.Path, c color.Color)
	// shape fills a path and draws its outline.
	shape(path vg.Path, c color.Color, l line)
	write(at vg.Point, words string, s lettering)
}

// line is the look of a line.
type line struct {
	color color.Color
	width float64
	// dash is the lengths of strokes and spaces in turn; none for a solid line.
	dash []vg.Length
}

// anchor says which part of the words stands at their place.
type anchor uint8

const (
	left anchor = iota
	middle
	right
)

// lettering is the look of words.
type lettering struct {
	color  color.Color
	size   float64
	bold   bool
	anchor anchor
}

// faces are the letters by which words are measured, and drawn where the format has no letters of its own. They are as wide as
// those of the usual sans-serif fonts.
type faces struct{ regular, bold *opentype.Font }

// letters reads the fonts, once.
var letters = sync.OnceValue(func() faces {
	return faces{mustParse(liberationsansregular.TTF), mustParse(liberationsansbold.TTF)}
})

// mustParse reads a font that is part of the program.
func mustParse(data []byte) *opentype.Font {
	f, err := opentype.Parse(data)
	if err != nil {
		panic("figure: the font of the program is damaged: " + err.Error())
	}
	return f
}

func (s lettering) face() *font.Face {
	f := &font.Face{Font: font.Font{Typeface: "Liberation", Variant: "Sans", Size: vg.Length(s.size)}, Face: letters().regular}
	if s.bold {
		f.Face = letters().bold
	}
	return f
}

// width of words, in units of the sheet.
func (s lettering) width(words string) float64 { return float64(s.face().Width(words)) }

// fitting cuts words in their middle to a width and says so by an ellipsis: names that begin alike often differ at their ends.
func (s lettering) fitting(words string, width float64) string {
	// No letter is so narrow that more of them fit.
	runes := []rune(words)
	most := int(width / (s.size / 8))
	if len(runes) <= most && s.width(words) <= width {
		return words
	}
	short := func(n int) string { return string(runes[:n-n/3]) + "…" + string(runes[len(runes)-n/3:]) }
	low, high := 0, min(len(runes), most)
	for low < high {
		n := (low + high + 1) / 2
		if s.width(short(n)) <= width {
			low = n
		} else {
			high = n - 1
		}
	}
	return short(low)
}
