package table

import (
	"bytes"
	"errors"
	"io"
	"slices"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"example.com/tailbound/service/fault"
)

// The encodings, by the names that people and the contract write.
const (
	utf8Name        = "utf-8"
	utf16LittleName = "utf-16le"
	utf16BigName    = "utf-16be"
	windowsName     = "windows-1252"
)

func encodingNames() []string {
	return []string{utf8Name, utf16LittleName, utf16BigName, windowsName}
}

// decoderOf is nil for UTF-8, which is read as it is.
func decoderOf(name string) *encoding.Decoder {
	switch name {
	case utf16LittleName:
		return unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM).NewDecoder()
	case utf16BigName:
		return unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM).NewDecoder()
	case windowsName:
		return charmap.Windows1252.NewDecoder()
	}
	return nil
}

// decode returns the text of a file in UTF-8, without a mark of its byte order.
func decode(r io.Reader, stated string) (text io.Reader, name string, guess *Guess, err error) {
	from := newAhead(r)
	sample := from.sample
	if from.failure != nil && !errors.Is(from.failure, io.EOF) && len(sample) == 0 {
		return nil, "", nil, from.failure
	}
	if what := noText(sample); what != "" {
		return nil, "", nil, fault.Invalid("", "is %s and no text; save its table as CSV", what)
	}
	name, mark := markOf(sample)
	switch {
	case stated != "":
		if name != stated {
			mark = 0
		}
		name = stated
	case mark == 0:
		name, guess = guessEncoding(sample, from.failure != nil)
	case name != utf8Name:
		guess = &Guess{Text: "The text was read as " + name + ", by the mark at its beginning."}
	}
	from.sample = sample[mark:]
	decoder := decoderOf(name)
	if decoder == nil {
		return from, name, guess, nil
	}
	return decoder.Reader(from), name, guess, nil
}

// ahead is a reader whose first bytes were looked at before they are read.
type ahead struct {
	sample []byte
	// failure is what the reader under it said while the sample was taken.
	failure error
	from    io.Reader
}

func newAhead(r io.Reader) *ahead {
	a := &ahead{sample: make([]byte, sampleSize), from: r}
	var n int
	n, a.failure = io.ReadFull(r, a.sample)
	a.sample = a.sample[:n]
	if errors.Is(a.failure, io.ErrUnexpectedEOF) {
		a.failure = io.EOF
	}
	return a
}

// Read implements io.Reader.
func (a *ahead) Read(p []byte) (int, error) {
	switch {
	case len(a.sample) > 0:
		n := copy(p, a.sample)
		a.sample = a.sample[n:]
		return n, nil
	case a.failure != nil:
		return 0, a.failure
	default:
		return a.from.Read(p)
	}
}

// noText names what a file is that people take for a table; empty when it may be text.
func noText(sample []byte) string {
	for _, kind := range []struct{ begin, name string }{
		{"PK\x03\x04", "a workbook or another archive"},
		{"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "a workbook"},
		{"\x1f\x8b", "a compressed file"},
		{"%PDF-", "a document for print"},
	} {
		if bytes.HasPrefix(sample, []byte(kind.begin)) {
			return kind.name
		}
	}
	return ""
}

// markOf finds a mark of the byte order, and its length.
func markOf(sample []byte) (name string, length int) {
	switch {
	case bytes.HasPrefix(sample, []byte("\xef\xbb\xbf")):
		return utf8Name, 3
	case bytes.HasPrefix(sample, []byte("\xff\xfe")):
		return utf16LittleName, 2
	case bytes.HasPrefix(sample, []byte("\xfe\xff")):
		return utf16BigName, 2
	}
	return "", 0
}

// guessEncoding goes by zero bytes, of which UTF-16 of a European language has one in nearly every pair and other text none, and
// by whether the bytes can be UTF-8.
func guessEncoding(sample []byte, whole bool) (string, *Guess) {
	var zeros [2]int
	for i, c := range sample {
		if c == 0 {
			zeros[i%2]++
		}
	}
	const most, few = 0.7, 0.1
	pairs := float64(len(sample) / 2)
	switch {
	case pairs > 0 && float64(zeros[1]) > most*pairs && float64(zeros[0]) < few*pairs:
		return utf16LittleName, &Guess{Text: "The text was read as utf-16le, for every second byte is zero."}
	case pairs > 0 && float64(zeros[0]) > most*pairs && float64(zeros[1]) < few*pairs:
		return utf16BigName, &Guess{Text: "The text was read as utf-16be, for every second byte, from the first, is zero."}
	case validUTF8(sample, whole):
		return utf8Name, &Guess{Text: "The text was read as utf-8, for its bytes are valid as such.", Usual: true}
	}
	return windowsName, &Guess{Text: "The text is not utf-8 and was read as windows-1252, which is a guess; look at its letters, or state the encoding."}
}

// validUTF8 allows for a character that the end of the sample cuts.
func validUTF8(sample []byte, whole bool) bool {
	for cut := 0; cut < utf8.UTFMax && cut <= len(sample); cut++ {
		if utf8.Valid(sample[:len(sample)-cut]) {
			return cut == 0 || !whole && !utf8.FullRune(sample[len(sample)-cut:])
		}
	}
	return false
}

func checkOneOf(what, stated string, accepted []string) error {
	if stated == "" || slices.Contains(accepted, stated) {
		return nil
	}
	return fault.Invalid(what, "%q is not known; accepted are %s", stated, List(accepted))
}
