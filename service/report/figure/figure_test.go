package figure

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/report/figure/sheet"
)

// Regenerate the golden files with: go test ./service/report/figure/ -update. Then look at them.
var update = flag.Bool("update", false, "write the golden files anew")

// drawing is a figure ready to be written.
type drawing struct {
	name string
	draw func(w io.Writer, f Format) error
	// kept says that its SVG is a golden file.
	kept bool
}

// groupDrawings are the figures of one group.
func groupDrawings(tb testing.TB, s shape, kept bool) []drawing {
	tb.Helper()
	a := assessed(tb, s.group)
	short := strings.ReplaceAll(s.name[:min(len(s.name), 20)], " ", "-")
	return []drawing{
		{"probability-" + short, func(w io.Writer, f Format) error { return Probability(w, a, f) }, kept},
		{"exceedance-" + short, func(w io.Writer, f Format) error { return Exceedance(w, a, f) }, kept},
		{"posterior-" + short, func(w io.Writer, f Format) error { return Posterior(w, a, f) }, kept},
		{"time-" + short, func(w io.Writer, f Format) error { return Time(w, a, s.group.Readings, f) }, kept},
	}
}

// drawings are all figures of all shapes.
func drawings(tb testing.TB) []drawing {
	tb.Helper()
	var out []drawing
	for _, s := range shapes() {
		out = append(out, groupDrawings(tb, s, s.name == "mixed" || s.name == "three")...)
	}
	c := threeCampaigns(tb)
	out = append(out, drawing{"campaigns", func(w io.Writer, f Format) error { return Campaigns(w, c, f) }, true})
	for name, p := range plans(tb) {
		out = append(out, drawing{"sampling-" + name, func(w io.Writer, f Format) error { return Sampling(w, p, f) }, true})
	}
	return append(out, drawing{"trace", func(w io.Writer, f Format) error { return Trace(w, shift(), f) }, true})
}

func TestFigures(t *testing.T) {
	t.Parallel()
	const heaviest = 20 << 10
	for _, d := range drawings(t) {
		t.Run(d.name, func(t *testing.T) {
			t.Parallel()
			var first, second bytes.Buffer
			if err := d.draw(&first, SVG); err != nil {
				require.False(t, d.kept)
				require.Equal(t, fault.Undetermined, fault.CodeOf(err))
				require.Zero(t, first.Len(), "nothing is written of a figure that is refused")
				return
			}
			require.NoError(t, d.draw(&second, SVG))
			require.Equal(t, first.String(), second.String())
			require.Less(t, first.Len(), heaviest)
			wellFormed(t, first.Bytes())
			if d.kept {
				golden(t, d.name+".svg", first.Bytes())
			}
		})
	}
}

// wellFormed wants XML with a title and a description, without a number that is none and without what a policy refuses.
func wellFormed(t *testing.T, svg []byte) {
	t.Helper()
	var seen []string
	for decoder := xml.NewDecoder(bytes.NewReader(svg)); ; {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		if e, ok := token.(xml.StartElement); ok {
			seen = append(seen, e.Name.Local)
			for _, a := range e.Attr {
				require.NotContains(t, a.Value, "NaN")
				require.NotContains(t, a.Value, "Inf")
				require.NotEqual(t, "style", a.Name.Local)
			}
		}
	}
	require.Equal(t, []string{"svg", "title", "desc"}, seen[:3])
	require.NotContains(t, seen, "script")
}

func TestPNG(t *testing.T) {
	t.Parallel()
	for _, d := range drawings(t) {
		if d.name != "probability-mixed" && d.name != "campaigns" {
			continue // Each takes a tenth of a second.
		}
		var first, second bytes.Buffer
		require.NoError(t, d.draw(&first, PNG))
		require.NoError(t, d.draw(&second, PNG))
		require.True(t, bytes.Equal(first.Bytes(), second.Bytes()), d.name)
		im, err := png.Decode(&first)
		require.NoError(t, err)
		require.Equal(t, 2*sheet.UsualWidth, im.Bounds().Dx())
	}
}

// golden compares with testdata/golden/figures/NAME, or writes it.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("..", "..", "..", "testdata", "golden", "figures", name)
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o750))
		require.NoError(t, os.WriteFile(path, got, 0o600))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, string(want), string(got))
}

func TestWhatIsMissing(t *testing.T) {
	t.Parallel()
	full := assessed(t, shapes()[1].group)
	without := func(change func(*report.Assessment)) *report.Assessment {
		a := *full
		change(&a)
		return &a
	}
	none := without(func(a *report.Assessment) { a.Curves = nil })
	for name, draw := range map[string]func(io.Writer) error{
		"no assessment": func(w io.Writer) error { return Probability(w, nil, SVG) },
		"no plot": func(w io.Writer) error {
			return Probability(w, without(func(a *report.Assessment) { a.FitCheck = nil }), SVG)
		},
		"no fit": func(w io.Writer) error {
			return Exceedance(w, without(func(a *report.Assessment) { a.Fit = nil }), SVG)
		},
		"no curve":   func(w io.Writer) error { return Exceedance(w, none, SVG) },
		"no density": func(w io.Writer) error { return Posterior(w, none, SVG) },
		"no posterior": func(w io.Writer) error {
			return Posterior(w, without(func(a *report.Assessment) { a.Posterior = nil }), SVG)
		},
		"no readings":  func(w io.Writer) error { return Time(w, full, nil, SVG) },
		"no campaigns": func(w io.Writer) error { return Campaigns(w, &report.Comparison{}, SVG) },
		"no estimates": func(w io.Writer) error {
			return Campaigns(w, &report.Comparison{Campaigns: []*report.Assessment{{}}}, SVG)
		},
		"no plan":            func(w io.Writer) error { return Sampling(w, &report.Plan{}, SVG) },
		"no trace":           func(w io.Writer) error { return Trace(w, &TraceFigure{}, SVG) },
		"no value over zero": func(w io.Writer) error { return Trace(w, zeros(), SVG) },
	} {
		var out bytes.Buffer
		err := draw(&out)
		require.Equal(t, fault.Undetermined, fault.CodeOf(err), name)
		require.True(t, strings.HasPrefix(err.Error(), "there is nothing to draw: "), err.Error())
		require.Zero(t, out.Len(), name)
	}
	require.Equal(t, fault.InvalidArgument, fault.CodeOf(Probability(io.Discard, full, 9)))
	require.NoError(t, Probability(io.Discard, none, SVG), "the readings stand without a line")
}

// zeros is a trace of an instrument that showed 0 all the time.
func zeros() *TraceFigure {
	from := time.Unix(0, 0)
	return &TraceFigure{From: from, To: from.Add(time.Hour), Columns: make([]TraceColumn, 60), FullScale: math.Inf(1)}
}

func TestReadingsWithoutStartAreInOrder(t *testing.T) {
	t.Parallel()
	readings := lognormal(8, 1, 2)
	readings[3].Start = time.Time{}
	var out bytes.Buffer
	require.NoError(t, Time(&out, &report.Assessment{Unit: "ppm"}, readings, SVG))
	require.Contains(t, out.String(), "Readings in the order given (1 of 8 without a start)")
}

func TestWordsAreEscaped(t *testing.T) {
	t.Parallel()
	g := shapes()[0].group
	g.Name, g.Agent = "<script>alert(1)</script>\x00\n& \"x\"", "\xff\xfe"
	g.Readings[0].Zone = "</text><a href='x'>"
	var out bytes.Buffer
	require.NoError(t, Time(&out, assessed(t, g), g.Readings, SVG))
	wellFormed(t, out.Bytes())
	require.NotContains(t, out.String(), "<script")
	require.NotContains(t, out.String(), "<a ")
	require.Equal(t, reading.Unit("mg/m3"), g.Unit)
}

func BenchmarkFigures(b *testing.B) {
	for _, d := range drawings(b) {
		if !d.kept || strings.HasSuffix(d.name, "three") {
			continue
		}
		for name, f := range map[string]Format{"svg": SVG, "png": PNG} {
			if name == "png" && d.name != "probability-mixed" {
				continue
			}
			b.Run(d.name+"/"+name, func(b *testing.B) {
				var out bytes.Buffer
				b.ReportAllocs()
				for b.Loop() {
					out.Reset()
					if err := d.draw(&out, f); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(out.Len()), "bytes")
			})
		}
	}
}
