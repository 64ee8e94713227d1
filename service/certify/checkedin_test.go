package certify

import (
	"bytes"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

const folder = "../../testdata/certificate/"

// checkedIn reads the rows of the certificate.
func checkedIn(t *testing.T) []Row {
	t.Helper()
	b, err := os.ReadFile(folder + "certificate.csv")
	require.NoError(t, err)
	rows, err := ReadCSV(bytes.NewReader(b))
	require.NoError(t, err)
	return rows
}

// The checked-in certificate is that of the plan, and what is written of it follows from its counts.
func TestCheckedInCertificateIsWhole(t *testing.T) {
	t.Parallel()
	rows := checkedIn(t)
	plan := Certificate(Samples)
	pairs := 0
	for _, d := range plan.Designs {
		for _, m := range plan.Methods {
			if m.Quick || !d.Fine {
				pairs++
			}
		}
	}
	require.Len(t, rows, pairs*(4+len(plan.GSDs)))
	var table, text bytes.Buffer
	require.NoError(t, WriteCSV(&table, rows))
	require.NoError(t, WritePage(&text, rows, checkedInRatios(t)))
	for name, got := range map[string]*bytes.Buffer{"certificate.csv": &table, "CERTIFICATE.md": &text} {
		want, err := os.ReadFile(folder + name)
		require.NoError(t, err)
		require.Equal(t, string(want), got.String(), "%s differs from what its counts give", name)
	}
}

// What the certificate has to show: a standard error of 0.004, exact limits that are exact, no departure without a reason, and
// calibrated limits that, where they promise, depart only for steps, few values or chance.
func TestCheckedInCertificateHolds(t *testing.T) {
	t.Parallel()
	rows := checkedIn(t)
	for i := range rows {
		r := &rows[i]
		require.LessOrEqual(t, chanceError(r.Samples, 0.7), 0.004)
		for s := range sides {
			require.False(t, r.Departs(s) && r.Reasons(s) == 0, "%v, %v of %v by %s is unexplained", r.Design, s, r.Quantity, r.Method)
			if r.Design.Reporting == Complete {
				require.InDelta(t, s.Nominal(), r.Coverage(s), 4*r.Error(s), "%v, %v of %v", r.Design, s, r.Quantity)
			}
			if r.Method == Calibrated && r.Design.Promised() {
				require.Zero(t, r.Reasons(s)&^(BySteps|ByFewValues|ByChance), "%v, %v of %v", r.Design, s, r.Quantity)
			}
		}
	}
}

// A design of the certificate, simulated anew, gives the rows that are checked in. Another processor may round otherwise and tip a
// sample or two.
func TestCheckedInRowsComeOutAgain(t *testing.T) {
	t.Parallel()
	d := Design{10, 0.6, OneLimit, false}
	plan := Certificate(Samples)
	plan.Designs, plan.Methods = []Design{d}, []Method{calibrated()}
	again := run(t, plan)
	found := 0
	for _, want := range checkedIn(t) {
		if want.Design != d || want.Method != Calibrated {
			continue
		}
		got := again[found]
		found++
		require.Equal(t, want.Quantity, got.Quantity)
		require.Equal(t, want.Samples, got.Samples)
		require.InDelta(t, want.Given, got.Given, 2)
		for s := range sides {
			require.InDelta(t, want.Covered[s], got.Covered[s], 2, "%v of %v", s, want.Quantity)
		}
	}
	require.Len(t, again, found)
}

func TestReadCSVRefusesAnotherTable(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"", "a,b\n1,2\n"} {
		_, err := ReadCSV(bytes.NewReader([]byte(text)))
		require.Error(t, err)
	}
	var table bytes.Buffer
	require.NoError(t, WriteCSV(&table, []Row{{Design: Design{Readings: 3}, Method: Posterior, Samples: 1, Given: 1}}))
	_, err := ReadCSV(bytes.NewReader(bytes.Replace(table.Bytes(), []byte("complete"), []byte("bogus"), 1)))
	require.ErrorContains(t, err, "bogus")
}

func checkedInRatios(t *testing.T) []RatioRow {
	t.Helper()
	b, err := os.ReadFile(folder + "ratios.csv")
	require.NoError(t, err)
	rows, err := ReadRatios(bytes.NewReader(b))
	require.NoError(t, err)
	return rows
}

// The table of ratios follows from its counts, is precise enough, and the first design comes out again. Another processor may tip a pair.
func TestCheckedInRatiosComeOutAgain(t *testing.T) {
	t.Parallel()
	rows := checkedInRatios(t)
	designs := PairDesigns()
	require.Len(t, rows, 4*len(designs))
	var table bytes.Buffer
	require.NoError(t, WriteRatios(&table, rows))
	want, err := os.ReadFile(folder + "ratios.csv")
	require.NoError(t, err)
	require.Equal(t, string(want), table.String())
	for i := range rows {
		require.Equal(t, designs[i/4], rows[i].Design)
		require.LessOrEqual(t, chanceError(rows[i].Given, 0.95), 0.005)
		require.Equal(t, rows[i].Departs(), rows[i].Reasons() != "")
	}
	// 10 and 10 readings, 30 % censored.
	again, err := RunRatios(t.Context(), designs[12:13], RatioSamples, 1)
	require.NoError(t, err)
	for i, got := range again {
		want := rows[48+i]
		require.Equal(t, want.Ratio, got.Ratio)
		require.InDelta(t, want.Given, got.Given, 2)
		require.InDelta(t, want.Lower, got.Lower, 2)
		require.InDelta(t, want.Upper, got.Upper, 2)
	}
}
