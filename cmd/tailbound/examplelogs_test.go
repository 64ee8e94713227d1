package main

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Write the invented logs of testdata/logs anew with: go test ./cmd/tailbound -run ExampleLogs -logs. They are made from a seed, so
// that the same ones come out.
var writeLogs = flag.Bool("logs", false, "write the invented logs of testdata/logs anew")

// The week of the logs: two instruments log five channels once a minute in the early and the late shift of seven days, each shift
// in another of four zones, so that each zone is visited once a day.
const (
	logDays      = 7
	logShift     = 8 * time.Hour
	logSpanGas   = 50.0
	beforeSpan   = 50.2
	afterZero    = 0.9
	afterSpan    = 42.9
	vaporScale   = 200
	vaporChannel = 2
)

// logChannel is one sensor; middle is the geometric mean in each zone.
type logChannel struct {
	name     string
	decimals int
	top      float64
	middle   [4]float64
}

func logChannels() []logChannel {
	return []logChannel{
		{"carbon monoxide (ppm)", 1, 500, [4]float64{3.5, 1.5, 2, 0.8}},
		{"nitrogen dioxide (ppm)", 2, 20, [4]float64{0.12, 0.05, 0.04, 0.02}},
		{"solvent vapor (ppm)", 1, vaporScale, [4]float64{4, 6, 30, 1.5}},
		{"respirable dust (mg/m3)", 3, 50, [4]float64{0.18, 0.05, 0.35, 0.09}},
		{"particles (1/cm3)", 0, 1e6, [4]float64{30000, 9000, 22000, 6000}},
	}
}

func logZones() [4]string {
	return [4]string{"inspection pit", "wash hall", "paint bay", "parts store"}
}

func logFile(instrument, zone int) string {
	return fmt.Sprintf("instrument%d-%s.csv", instrument+1, strings.ReplaceAll(logZones()[zone], " ", "-"))
}

// logMonday is the first day of the week, in UTC.
func logMonday() time.Time { return time.Date(2026, 10, 5, 0, 0, 0, 0, time.UTC) }

// TestWriteExampleLogs writes the logs when it is asked to.
func TestWriteExampleLogs(t *testing.T) {
	t.Parallel()
	if !*writeLogs {
		t.Skip("only with -logs")
	}
	random := rand.New(rand.NewPCG(20261005, 5))
	logs := map[string]*bytes.Buffer{}
	for day := range logDays {
		for turn := range 4 {
			instrument, late, zone := turn/2, turn%2, (day+turn)%4
			name := logFile(instrument, zone)
			if logs[name] == nil {
				logs[name] = bytes.NewBufferString(logHead(instrument, zone))
			}
			s := stay{instrument: instrument, zone: zone, day: day, late: late == 1}
			s.log(logs[name], random)
		}
	}
	for name, log := range logs {
		text := log.Bytes()
		if name == logFile(1, 1) {
			text = text[:bytes.LastIndexByte(text[:len(text)-1], '\n')+24] // The card was pulled out.
		}
		require.NoError(t, os.WriteFile(filepath.Join("..", "..", "testdata", "logs", name), text, 0o644))
	}
}

// logHead says that the log is invented, what it is, and what is odd in it; the last line names the columns.
func logHead(instrument, zone int) string {
	lines := []string{
		fmt.Sprintf("# An invented log of instrument %d in the %s of an invented tram depot: nobody works there and nothing was measured.", instrument+1, logZones()[zone]),
		"# Five channels, one row a minute, times in UTC, seven days of October 2026. The sensors settle during the first 10 minutes.",
	}
	if instrument == 0 {
		lines = append(lines, fmt.Sprintf("# Carbon monoxide in %g ppm of span gas: 2026-10-05 05:30 zero 0, span %g; 2026-10-11 22:30 zero %g, span %g.",
			logSpanGas, beforeSpan, afterZero, afterSpan))
	}
	switch logFile(instrument, zone) {
	case logFile(0, 2):
		lines = append(lines, "# On Wednesday the battery was changed between 12:10 and 13:00.")
	case logFile(1, 0):
		lines = append(lines, "# On Tuesday at 18:00 the clock was set an hour ahead by mistake, and set back before the next shift.")
	case logFile(1, 2):
		lines = append(lines, fmt.Sprintf("# On Friday from 09:00 to 10:00 there was more solvent vapor than the sensor shows, which is %d ppm.", vaporScale))
	case logFile(1, 3):
		lines = append(lines, "# On Tuesday the particle counter gave no value from 08:20 to 08:24.")
	case logFile(1, 1):
		lines = append(lines, "# The card was pulled out while the last line was written.")
	}
	names := []string{"time"}
	for _, c := range logChannels() {
		names = append(names, c.name)
	}
	return strings.Join(lines, "\n") + "\n" + strings.Join(names, separator(instrument)) + "\n"
}

// separator is what each instrument puts between its cells.
func separator(instrument int) string { return [...]string{",", ";"}[instrument] }

// row is a line of the log as each instrument writes it: the second one has decimal commas, and days before months.
func (s *stay) row(clock time.Time, cells []string) string {
	line := strings.Join(cells, separator(s.instrument))
	if s.instrument == 1 {
		return clock.Format("02.01.2006 15:04:05") + ";" + strings.ReplaceAll(line, ".", ",")
	}
	return clock.Format("2006-01-02 15:04:05") + "," + line
}

// stay is one shift of one instrument in one zone.
type stay struct {
	instrument, zone, day int
	late                  bool
}

// log writes the rows of a stay. The logarithm of what is in the air differs from shift to shift, and within a shift moves slowly
// about its mean.
func (s *stay) log(w *bytes.Buffer, random *rand.Rand) {
	channels := logChannels()
	level, now := make([]float64, len(channels)), make([]float64, len(channels))
	for i, c := range channels {
		level[i] = math.Log(c.middle[s.zone]) + 0.45*random.NormFloat64()
	}
	start := logMonday().AddDate(0, 0, s.day).Add(6 * time.Hour)
	if s.late {
		start = start.Add(logShift)
	}
	start = start.Add(time.Duration(random.IntN(6)) * time.Minute)
	for minute := range int(logShift/time.Minute) - 8 {
		at := start.Add(time.Duration(minute) * time.Minute)
		cells := make([]string, 0, len(channels))
		for i, c := range channels {
			const memory = 0.95
			now[i] = memory*now[i] + math.Sqrt(1-memory*memory)*0.6*random.NormFloat64()
			cells = append(cells, s.shown(i, &c, at, minute, math.Exp(level[i]+now[i])))
		}
		if between(at, 2, "12:10", "13:00") && s.instrument == 0 {
			continue
		}
		clock := at
		if s.instrument == 1 && s.late && between(at, 1, "18:00", "23:00") {
			clock = at.Add(time.Hour)
		}
		fmt.Fprintln(w, s.row(clock, cells))
	}
}

// shown is what the sensor makes of a concentration.
func (s *stay) shown(channel int, c *logChannel, at time.Time, minute int, v float64) string {
	switch {
	case channel == 0 && s.instrument == 0:
		before, after := logMonday().Add(5*time.Hour+30*time.Minute), logMonday().AddDate(0, 0, 6).Add(22*time.Hour+30*time.Minute)
		part := float64(at.Sub(before)) / float64(after.Sub(before))
		zero, span := part*afterZero, beforeSpan+part*(afterSpan-beforeSpan)
		v = zero + v*(span-zero)/logSpanGas
	case channel == vaporChannel && s.zone == 2 && s.instrument == 1 && between(at, 4, "09:00", "10:00"):
		v = 1.7 * vaporScale
	case channel == 4 && s.zone == 3 && s.instrument == 1 && between(at, 1, "08:20", "08:24"):
		return ""
	}
	v *= 1 + 3*math.Exp(-float64(minute)/2)
	return strconv.FormatFloat(min(v, c.top), 'f', c.decimals, 64)
}

// between says whether a time lies in a stretch of a day of the week.
func between(at time.Time, day int, from, to string) bool {
	clock := at.Format("15:04")
	return at.YearDay() == logMonday().YearDay()+day && clock >= from && clock < to
}
