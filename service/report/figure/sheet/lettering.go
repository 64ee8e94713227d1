package sheet

import (
	"strings"
	"sync"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// Anchor says which part of the words stands at their place.
type Anchor uint8

const (
	// Left begins them there.
	Left Anchor = iota
	// Middle has as much of them on either side.
	Middle
	// Right ends them there.
	Right
)

// Lettering is the look of words.
type Lettering struct {
	color  Color
	size   float64
	bold   bool
	anchor Anchor
	// halo keeps the words apart from what they stand on.
	halo bool
}

// Letters are the usual ones of a color.
func Letters(c Color) Lettering { return Lettering{color: c, size: bodySize} }

// At is the lettering of words that stand with another part at their place.
func (s Lettering) At(a Anchor) Lettering {
	s.anchor = a
	return s
}

// Raised is the lettering with a halo, which keeps words apart from what they stand on.
func (s Lettering) Raised() Lettering {
	s.halo = true
	return s
}

// Strong is the lettering in bold.
func (s Lettering) Strong() Lettering {
	s.bold = true
	return s
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
		panic("sheet: the font of the program is damaged: " + err.Error())
	}
	return f
}

func (s Lettering) face() *font.Face {
	f := &font.Face{Font: font.Font{Typeface: "Liberation", Variant: "Sans", Size: vg.Length(s.size)}, Face: letters().regular}
	if s.bold {
		f.Face = letters().bold
	}
	return f
}

// Width is that of words, in units of the sheet.
func (s Lettering) Width(words string) float64 { return float64(s.face().Width(words)) }

// Fitting cuts words in their middle to a width and says so by an ellipsis: names that begin alike often differ at their ends.
func (s Lettering) Fitting(words string, width float64) string {
	// No letter is so narrow that more of them fit.
	runes := []rune(words)
	most := int(width / (s.size / 8))
	if len(runes) <= most && s.Width(words) <= width {
		return words
	}
	short := func(n int) string { return string(runes[:n-n/3]) + "…" + string(runes[len(runes)-n/3:]) }
	low, high := 0, min(len(runes), most)
	for low < high {
		n := (low + high + 1) / 2
		if s.Width(short(n)) <= width {
			low = n
		} else {
			high = n - 1
		}
	}
	return short(low)
}

// FirstLine breaks a text at the last space before which it fits, but not before a %.
func (s Lettering) FirstLine(text string, width float64) (first, rest string, found bool) {
	text = text[:min(len(text), 500)]
	for i := strings.LastIndexByte(text, ' '); i > 0; i = strings.LastIndexByte(text[:i], ' ') {
		if text[i+1:] != "%" && s.Width(text[:i]) <= width {
			return text[:i], text[i+1:], true
		}
	}
	return text, "", false
}
