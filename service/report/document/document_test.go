package document_test

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/internal/samples"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report/document"
)

// Regenerate the golden file with: go test ./service/report/document/ -update.
var update = flag.Bool("update", false, "write the golden file anew")

var assessor assess.Assessor

// assessed is a group with its assessment, or with the reason for which there is none.
func assessed(tb testing.TB, g reading.Group, o assess.Options) *document.Group {
	tb.Helper()
	o.Curves = true
	out := &document.Group{Request: g, Judging: document.Judging{Percentile: 0.95, RelativeError: o.RelativeError, Calibrated: o.Calibrated}}
	a, err := assessor.Group(g, o)
	if err != nil {
		out.Refusal = err.Error()
		return out
	}
	out.Assessment = a
	return out
}

// chrysene is example 17-3 of the USEPA Unified Guidance, EPA 530/R-09-007 (2009), in ppb; zones, subjects and times are invented.
func chrysene() reading.Group {
	g := reading.Group{Name: "kiln room", Agent: "chrysene", Unit: "ppb", Limit: &reading.Limit{Value: 100, Unit: "ppb"}}
	for i, v := range []float64{19.7, 39.2, 7.8, 12.8, 10.2, 7.2, 16.1, 5.7} {
		r := reading.At(v)
		r.Zone, r.Subject = "kiln room", []string{"P1", "P2", "P3"}[i%3]
		r.Start, r.Duration = time.Date(2026, 3, 2+i, 7, 30, 0, 0, time.UTC), 8*time.Hour
		g.Readings = append(g.Readings, r)
	}
	return g
}

func manganese() reading.Group {
	return reading.Group{
		Name: "foundry", Agent: "manganese", Unit: "ppb", Limit: &reading.Limit{Value: 50, Unit: "ppb"}, Readings: samples.Manganese(),
	}
}

// small is a report of every kind of group.
func small(tb testing.TB) []*document.Group {
	tb.Helper()
	described := chrysene()
	described.Name, described.Limit = "yard", nil
	one := chrysene()
	one.Name, one.Readings = "", one.Readings[:1]
	wrong := chrysene()
	wrong.Name, wrong.Limit = "store", &reading.Limit{Value: 1, Unit: "mg/m3"}
	return []*document.Group{
		assessed(tb, chrysene(), assess.Options{}),
		assessed(tb, manganese(), assess.Options{Shifts: reading.Shifts{DayHours: 10}, RelativeError: 0.1}),
		assessed(tb, described, assess.Options{}),
		assessed(tb, one, assess.Options{}),
		assessed(tb, wrong, assess.Options{}),
	}
}

func head() document.Head {
	return document.Head{Version: "v0.0.0-test", Digest: strings.Repeat("0123456789abcdef", 4)}
}

func written(tb testing.TB, h document.Head, groups []*document.Group) string {
	tb.Helper()
	sections := make([]*document.Section, len(groups))
	for i, g := range groups {
		s, err := document.NewSection(h.Language, i+1, g)
		require.NoError(tb, err)
		sections[i] = s
	}
	var out bytes.Buffer
	require.NoError(tb, document.Write(&out, h, sections))
	return out.String()
}

func TestGolden(t *testing.T) {
	t.Parallel()
	got := written(t, head(), small(t))
	path := filepath.Join("..", "..", "..", "testdata", "golden", "report.html")
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, string(want), got)
	require.Equal(t, got, written(t, head(), small(t)), "the same groups give the same bytes")
}

// The page needs nothing but itself.
func TestSelfContained(t *testing.T) {
	t.Parallel()
	page := written(t, head(), small(t))
	require.NotContains(t, page, "<script")
	require.NotContains(t, page, "javascript:")
	require.NotRegexp(t, ` on[a-z]+=`, page)
	for _, m := range regexp.MustCompile(`(?:href|src|url)\s*[=(]\s*"?([^"\s)>]+)`).FindAllStringSubmatch(page, -1) {
		require.True(t, strings.HasPrefix(m[1], "#"), m[0])
	}
	for _, m := range regexp.MustCompile(`https?://[^"\s<]+`).FindAllString(page, -1) {
		require.Equal(t, "http://www.w3.org/2000/svg", m)
	}
}

func TestHostileNames(t *testing.T) {
	t.Parallel()
	for _, name := range []string{
		`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `' onclick='x`, `</style><b>`, `{{.W}}`, `{n}`, "a\u202eb\u2066c", "\x1b[31m\x00",
		`]]>--><!--`, `&lt;b&gt;`, `</title><svg onload=alert(1)>`,
	} {
		g := chrysene()
		g.Name, g.Agent = name, name
		g.Readings[0].Zone, g.Readings[1].Subject, g.Readings[2].ID, g.Readings[3].Campaign = name, name, name, name
		refused := &document.Group{Request: g, Refusal: name}
		page := written(t, document.Head{Title: name, Version: name, Digest: name}, []*document.Group{assessed(t, g, assess.Options{}), refused})
		for _, bad := range []string{"<script", "<img", " onclick=\"", "onclick='", "<b>", "<svg onload", "\u202e", "\u2066", "\x1b", "\x00", "<!--"} {
			require.NotContains(t, page, bad, name)
		}
		require.Equal(t, 1, strings.Count(page, "</style>"))
		require.Equal(t, 1, strings.Count(page, "</title>")-strings.Count(page, "</title><desc>"), name)
	}
}

func TestIDsAreUniqueAndFound(t *testing.T) {
	t.Parallel()
	page := written(t, head(), small(t))
	seen := map[string]bool{}
	for _, m := range regexp.MustCompile(` id="([^"]+)"`).FindAllStringSubmatch(page, -1) {
		require.False(t, seen[m[1]], m[1])
		seen[m[1]] = true
	}
	for _, m := range regexp.MustCompile(`(?:href="#|aria-labelledby=")([^"]+)"`).FindAllStringSubmatch(page, -1) {
		for id := range strings.FieldsSeq(m[1]) {
			require.True(t, seen[id], id)
		}
	}
}

// Headings never skip a level.
func TestHeadingsAreInOrder(t *testing.T) {
	t.Parallel()
	last := 0
	for _, m := range regexp.MustCompile(`<h([1-6])`).FindAllStringSubmatch(written(t, head(), small(t)), -1) {
		level := int(m[1][0] - '0')
		require.LessOrEqual(t, level, last+1)
		last = level
	}
}

func TestLanguage(t *testing.T) {
	t.Parallel()
	for _, language := range document.Languages() {
		require.NoError(t, document.CheckLanguage(language))
		require.Contains(t, written(t, document.Head{Language: language}, small(t)), `<html lang="`+language+`"`)
	}
	_, err := document.NewSection("eo", 1, &document.Group{})
	require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	require.ErrorContains(t, err, "language")
	require.Error(t, document.Write(&bytes.Buffer{}, document.Head{Language: "eo"}, nil))
}

func TestNothingToReport(t *testing.T) {
	t.Parallel()
	page := written(t, document.Head{}, []*document.Group{{}})
	require.Contains(t, page, "Exposure assessment")
	require.Contains(t, page, "There are no readings.")
}

// Every language has every word.
func TestWordsAreComplete(t *testing.T) {
	t.Parallel()
	for _, language := range document.Languages() {
		document.RequireWords(t, language)
	}
}
