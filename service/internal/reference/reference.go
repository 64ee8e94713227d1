// Package reference reads the tables of testdata/reference for tests.
package reference

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// Row is one row of a table, by column name.
type Row map[string]string

// Float is the number in a column; the test fails when it is none.
func (r Row) Float(tb testing.TB, column string) float64 {
	tb.Helper()
	require.Contains(tb, r, column)
	v, err := strconv.ParseFloat(r[column], 64)
	require.NoError(tb, err, "column %s", column)
	return v
}

// Int is the whole number in a column.
func (r Row) Int(tb testing.TB, column string) int {
	tb.Helper()
	v, err := strconv.Atoi(r[column])
	require.NoError(tb, err, "column %s", column)
	return v
}

// Rows reads a comma-separated table; lines that start with # say how it was made and are passed over.
func Rows(tb testing.TB, name string) []Row {
	tb.Helper()
	r := csv.NewReader(bytes.NewReader(file(tb, name)))
	r.Comment = '#'
	records, err := r.ReadAll()
	require.NoError(tb, err)
	require.NotEmpty(tb, records)
	rows := make([]Row, 0, len(records)-1)
	for _, record := range records[1:] {
		row := Row{}
		for i, column := range records[0] {
			row[column] = record[i]
		}
		rows = append(rows, row)
	}
	return rows
}

// JSON reads a file of samples into v.
func JSON(tb testing.TB, name string, v any) {
	tb.Helper()
	require.NoError(tb, json.Unmarshal(file(tb, name), v))
}

// file reads a reference file from wherever the test runs.
func file(tb testing.TB, name string) []byte {
	tb.Helper()
	_, here, _, ok := runtime.Caller(0)
	require.True(tb, ok)
	raw, err := os.ReadFile(filepath.Join(filepath.Dir(here), "../../../testdata/reference", name))
	require.NoError(tb, err)
	return raw
}
