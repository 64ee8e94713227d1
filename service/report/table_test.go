package report

import (
	"bytes"
	"encoding/csv"
	"errors"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/limit"
	"example.com/tailbound/service/reading"
)

// Regenerate the golden files with: go test ./service/report/ -update.
var update = flag.Bool("update", false, "write the golden files anew")

// golden compares with testdata/golden/report/NAME, or writes it.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("..", "..", "testdata", "golden", "report", name)
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, got, 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, string(want), string(got))
}

// The numbers below are made up to fill every place of the forms; nothing is computed here.

// plainAnswer has every part.
func plainAnswer() Answer {
	a := &Assessment{
		Name: "kiln room", Agent: "inhalable dust", Unit: "mg/m³", Limit: &reading.Limit{Value: 2.4, Unit: "mg/m³"},
		Sample: reading.Counts{Readings: 9, Detected: 9, Minimum: 0.31, Maximum: 1.2},
		Fit: &Fit{
			GeometricMean:              limit.Bounds{Estimate: 0.61234, Lower: 0.44, Upper: 0.8523},
			GeometricStandardDeviation: limit.Bounds{Estimate: 1.7012, Lower: 1.47, Upper: 2.43},
			ArithmeticMean:             limit.Bounds{Estimate: 0.7012, Lower: 0.53, Upper: 1.09},
			ArithmeticMeanML:           0.6957,
		},
		Percentile: &Percentile{0.95, 0.95, limit.Bounds{Estimate: 1.467, Lower: 1.036, Upper: 2.9996}},
		Exceedance: &Exceedance{2.4, 0.95, limit.Bounds{Estimate: 0.00507, Lower: 0.0000123, Upper: 0.0834}},
		Posterior: &Posterior{
			Prior: "reference, density proportional to 1/sigma", PercentileAboveLimit: 0.0977,
			Bands: []Band{{0, 0.1, 0}, {0.1, 0.5, 0.2345}, {0.5, 1, 0.6678}, {1, math.Inf(1), 0.0977}},
		},
		FitCheck: &FitCheck{Test: "Shapiro-Wilk on ln reading", Statistic: 0.9612, PValue: 0.8103},
		Decisions: []decision.Decision{
			{Rule: decision.EN689, Outcome: decision.Compliant, Reason: "The arithmetic of the first rule, at 70 % confidence.", Source: "EN 689:2018, somewhere"},
			{Rule: decision.UpperLimit95, Outcome: decision.Undecided, Reason: "The arithmetic of the second rule.", Source: "A handbook, 7.2"},
			{Rule: decision.SingleShift, Reason: "It takes what was not stated.", Source: "A manual"},
		},
		LimitReduction: &LimitReduction{3, 0.8, "The stated limit was reduced.", "A paper"},
		Reassessment:   &decision.Reassessment{Months: 18, Reason: "The geometric mean is somewhere.", Source: "A standard, annex"},
		Notes:          []Note{{"tidy", Information, "The readings are made up."}},
		Methods:        []Method{{"percentile", "exp(mean + z s)", "A handbook, 7.2.6.3"}},
		Caution:        Caution,
	}
	a.Decision = &a.Decisions[0]
	return Answer{Name: a.Name, Agent: a.Agent, Assessment: a}
}

// few is what a single reading leaves.
func few() Answer {
	a := &Assessment{
		Name: "glaze room with the long name / P7 / spring", Agent: "quartz", Unit: "µg/m3", Limit: &reading.Limit{Value: 50, Unit: "µg/m3"},
		Sample:    reading.Counts{Readings: 1, Detected: 1, Minimum: 12, Maximum: 12},
		Decisions: []decision.Decision{{Rule: decision.EN689, Outcome: decision.Undecided, Reason: "There is 1 reading; take at least 2 more.", Source: "EN 689:2018, somewhere"}},
		Notes:     []Note{{"one-reading", Warning, "One reading tells nothing of the spread."}},
		Caution:   Caution,
	}
	a.Decision = &a.Decisions[0]
	return Answer{Name: a.Name, Agent: a.Agent, Assessment: a}
}

// unjudged has no limit, numbers that a float64 cannot hold, and readings without a value.
func unjudged() Answer {
	nan := math.NaN()
	a := &Assessment{
		Name: "spray booth", Agent: "linseed oil", Unit: "mg/m3",
		Sample: reading.Counts{Readings: 4, Detected: 2, Below: 1, Between: 1, Minimum: 0.2, Maximum: 0.4},
		Fit: &Fit{
			GeometricMean:              limit.Bounds{Estimate: 0.1, Lower: 1e-300, Upper: nan},
			GeometricStandardDeviation: limit.Bounds{Estimate: 5.5, Lower: 2, Upper: 9e40},
			ArithmeticMean:             limit.Bounds{Estimate: nan, Lower: nan, Upper: nan}, ArithmeticMeanML: nan,
		},
		Percentile: &Percentile{0.95, 0.95, limit.Bounds{Estimate: 1.65, Lower: 0.2, Upper: nan}},
		Notes: []Note{
			{"no-limit", Careful, "No limit was stated, so the group is described but not judged."},
			{"poor-fit", Warning, "The readings do not look lognormal."},
		},
		Caution: Caution,
	}
	return Answer{Name: a.Name, Agent: a.Agent, Assessment: a}
}

func refused() Answer {
	return Answer{Name: "print room", Agent: "ozone", Refusal: "campaign.csv line 7: readings without a value are part of the contract, but this " +
		"version does not fit them yet"}
}

// failing is not compliant; its name holds what would steer a terminal.
func failing() Answer {
	answer := plainAnswer()
	a := answer.Assessment
	answer.Name, answer.Agent = "joinery\nshop\x1b[31m", "wood dust"
	a.Limit = &reading.Limit{Value: 0.035, Unit: "mg/m³"}
	a.Exceedance.Upper = 0.99997
	a.LimitReduction, a.Reassessment = nil, nil
	a.Decision = &decision.Decision{Rule: decision.EN689, Outcome: decision.NotCompliant, Reason: "The largest result, 1.2 mg/m³, is above the limit."}
	a.Notes = []Note{{"poor-fit", Warning, "The readings do not look lognormal."}}
	return answer
}

// passing is plainly compliant.
func passing() Answer {
	answer := plainAnswer()
	answer.Name = "bindery"
	answer.Assessment.Percentile.Upper = 0.35
	answer.Assessment.Exceedance.Upper = 0.00004
	return answer
}

func TestTableGolden(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name    string
		answers []Answer
		width   int
	}{
		{"none.txt", nil, 0},
		{"plain.txt", []Answer{plainAnswer()}, 0},
		{"one_reading.txt", []Answer{few()}, 0},
		{"unjudged.txt", []Answer{unjudged()}, 70},
		{"refused.txt", []Answer{refused()}, 0},
		{"groups.txt", []Answer{passing(), plainAnswer(), few(), unjudged(), refused(), failing()}, 0},
		{"groups_wide.txt", []Answer{passing(), plainAnswer(), few(), unjudged(), refused(), failing()}, 160},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			var out bytes.Buffer
			require.NoError(t, Table(&out, c.answers, c.width))
			golden(t, c.name, out.Bytes())
			require.NotContains(t, out.String(), "\x1b")
			require.NotContains(t, out.String(), "NaN")
			for line := range strings.Lines(out.String()) {
				require.Equal(t, strings.TrimRight(line, " \n"), strings.TrimSuffix(line, "\n"), "no line ends in spaces")
			}
		})
	}
}

// The same answers give the same bytes: no map order shows.
func TestTableIsDeterministic(t *testing.T) {
	t.Parallel()
	answers := []Answer{passing(), plainAnswer(), few(), unjudged(), refused(), failing()}
	var first bytes.Buffer
	require.NoError(t, Table(&first, answers, 0))
	for range 20 {
		var again bytes.Buffer
		require.NoError(t, Table(&again, answers, 0))
		require.Equal(t, first.String(), again.String())
	}
}

func TestCSVGolden(t *testing.T) {
	t.Parallel()
	answers := []Answer{plainAnswer(), few(), unjudged(), refused(), failing()}
	var out bytes.Buffer
	require.NoError(t, CSV(&out, answers))
	golden(t, "groups.csv", out.Bytes())
	rows, err := csv.NewReader(&out).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, len(answers)+1)
	column := map[string]int{}
	for i, name := range rows[0] {
		require.NotContains(t, column, name)
		column[name] = i
	}
	// Every digit comes back.
	upper, err := strconv.ParseFloat(rows[1][column["percentile_upper"]], 64)
	require.NoError(t, err)
	require.Equal(t, plainAnswer().Assessment.Percentile.Upper, upper)
	require.Equal(t, "NOT_COMPLIANT", rows[5][column["decision_outcome"]])
	require.Empty(t, rows[3][column["percentile_upper"]], "what a float64 cannot hold is absent")
	require.Equal(t, refused().Refusal, rows[4][column["error"]])
}

func TestWritersReportFailure(t *testing.T) {
	t.Parallel()
	require.ErrorIs(t, Table(broken{}, []Answer{plainAnswer()}, 0), errBroken)
	many := make([]Answer, 200)
	for i := range many {
		many[i] = plainAnswer()
	}
	require.ErrorIs(t, CSV(broken{}, many), errBroken)
	require.ErrorIs(t, CSV(broken{}, many[:1]), errBroken)
}

var errBroken = errors.New("the pipe is closed")

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errBroken }

func TestTableOfOneRuleOrNone(t *testing.T) {
	t.Parallel()
	mixed := plainAnswer()
	mixed.Assessment.Percentile.Fraction = 0.99
	nameless := plainAnswer()
	nameless.Name, nameless.Agent = "", ""
	var out bytes.Buffer
	require.NoError(t, Table(&out, []Answer{plainAnswer(), mixed}, 0))
	require.Contains(t, out.String(), "The groups were asked for different\npercentiles or confidences.")
	require.NotContains(t, out.String(), "95th")
	out.Reset()
	require.NoError(t, Table(&out, []Answer{nameless, nameless}, 0))
	require.Contains(t, out.String(), "compliant: the readings")
	require.NotContains(t, out.String(), "agent")
	out.Reset()
	odd := plainAnswer()
	odd.Assessment.Decision = &decision.Decision{Rule: 99, Outcome: decision.Undecided, Reason: "Because."}
	odd.Assessment.Notes = []Note{{"odd", 99, "Odd."}}
	require.NoError(t, Table(&out, []Answer{odd}, 0))
	require.Contains(t, out.String(), "undecided by a rule unknown to this version")
}

func TestWords(t *testing.T) {
	t.Parallel()
	ordinals := map[float64]string{0.95: "95th", 0.5: "50th", 0.99: "99th", 0.999: "99.9th", 0.91: "91st", 0.92: "92nd", 0.93: "93rd", 0.9: "90th", 0.975: "97.5th"}
	for fraction, want := range ordinals {
		require.Equal(t, want, Ordinal(fraction))
	}
	percents := map[float64]string{0: "0.00 %", 1e-9: "<0.01 %", 0.0001: "0.0100 %", 0.1234: "12.3 %", 0.9994: "99.9 %", 0.99999: ">99.9 %", 1: "100 %"}
	for fraction, want := range percents {
		require.Equal(t, want, Percent(fraction))
	}
	require.Equal(t, "–", Percent(math.NaN()))
}

// The left column holds every shape of a path that the stages write.
func TestSpelled(t *testing.T) {
	t.Parallel()
	for path, want := range map[string]string{
		"fit.geometricMean":                   "geometric mean",
		"fit, percentile, exceedance: limits": "fit, percentile, exceedance: limits",
		"percentile.upper":                    "percentile, upper",
		"largest15MinuteMean":                 "largest 15 minute mean",
		"correlations, effectiveValues":       "correlations, effective values",
		"adjustedPValue":                      "adjusted p value",
		"unit of NaOH":                        "unit of NaOH",
		"plans":                               "plans",
	} {
		require.Equal(t, want, spelled(path), path)
	}
}

func TestWrap(t *testing.T) {
	t.Parallel()
	text := Wrap("the upper 70 % limit of the "+strings.Repeat("x", 30)+" is µg/m³", "- ", "  ", 16)
	require.Equal(t, "- the upper 70 %\n  limit of the\n  "+strings.Repeat("x", 30)+"\n  is µg/m³\n", text)
	for line := range strings.Lines(Wrap(strings.Repeat("µ 9 % ab ", 40), "", "", 20)) {
		require.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), 20)
	}
}

func BenchmarkTable(b *testing.B) {
	answers := make([]Answer, 1000)
	for i := range answers {
		answers[i] = [...]Answer{passing(), few(), failing(), refused()}[i%4]
	}
	for b.Loop() {
		if err := Table(new(bytes.Buffer), answers, 0); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(answers)*b.N)/b.Elapsed().Seconds(), "groups/s")
}

func BenchmarkCSV(b *testing.B) {
	answers := make([]Answer, 1000)
	for i := range answers {
		answers[i] = [...]Answer{passing(), few(), failing(), refused()}[i%4]
	}
	for b.Loop() {
		if err := CSV(new(bytes.Buffer), answers); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(answers)*b.N)/b.Elapsed().Seconds(), "groups/s")
}
