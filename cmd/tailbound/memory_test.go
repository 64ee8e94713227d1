package main

import (
	"bufio"
	"bytes"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Measure the memory of reduce up to a hundred million readings with: go test ./cmd/tailbound -run ReduceMemory -v -readings 1e8.
var mostReadings = flag.Float64("readings", 1e6, "measure the memory of reduce up to so many readings, from 1e5 on by tens")

// The resident memory that reduce may take for a trace of any length, and how much of it may come with a longer trace than 1e5
// readings: what the collector of garbage lets pile up, not the trace, which is 40 MB at 1e6 readings and 4 GB at 1e8.
const (
	residentLimit  = 64 << 20
	residentGrowth = 16 << 20
)

// TestReduceMemory streams traces of growing length through the whole command as a process of its own, the service and its
// in-memory connection inside it, and reads its peak resident memory from the kernel.
func TestReduceMemory(t *testing.T) {
	if raced() {
		t.Skip("the race detector multiplies the memory")
	}
	first := 0
	for readings := 1e5; readings <= *mostReadings; readings *= 10 {
		began := time.Now()
		peak, out := reduceTrace(t, int(readings)/traceChannels)
		took := time.Since(began).Seconds()
		t.Logf("%.0e readings: peak resident memory %.1f MB, %.1f s, %.2g readings/s", readings, float64(peak)/(1<<20), took, readings/took)
		require.Contains(t, out, "hall,a,", "there are readings")
		if first == 0 {
			first = peak
		}
		require.Less(t, peak, residentLimit, "%.0e readings", readings)
		require.Less(t, peak-first, residentGrowth, "%.0e readings", readings)
	}
}

// raced says whether the race detector is built in.
func raced() bool {
	info, found := debug.ReadBuildInfo()
	return found && slices.Contains(info.Settings, debug.BuildSetting{Key: "-race", Value: "true"})
}

const traceChannels = 5

// reduceTrace feeds the command with rows and returns the most resident memory it had, in bytes, and what it printed.
func reduceTrace(t *testing.T, rows int) (peak int, out string) {
	t.Helper()
	if _, err := os.Stat("/proc/self/status"); err != nil {
		t.Skip("the peak of resident memory is read from /proc")
	}
	command := exec.CommandContext(t.Context(), "tailbound", "reduce", "-", "--zone", "hall", "--unit", "ppm", "--detection-limit", "1",
		"--full-scale", "500", "--averaging", "24h", "--coverage", "0.01")
	var stdout, stderr bytes.Buffer
	command.Stdout, command.Stderr = &stdout, &stderr
	rowsIn, err := command.StdinPipe()
	require.NoError(t, err)
	require.NoError(t, command.Start())
	look := func() {
		// The peak that the kernel hands to the parent would be that of the parent where it is larger.
		if now, found := peakResident(command.Process.Pid); found {
			peak = max(peak, now)
		}
	}
	require.NoError(t, writeTrace(rowsIn, rows, look))
	done := make(chan error, 1)
	go func() { done <- command.Wait() }()
	for waiting := true; waiting; {
		select {
		case err := <-done:
			require.NoError(t, err, stderr.String())
			waiting = false
		case <-time.After(time.Millisecond):
			look()
		}
	}
	return peak, stdout.String()
}

// writeTrace writes a trace of one value a second and channel, and looks now and then.
func writeTrace(to io.WriteCloser, rows int, look func()) error {
	w := bufio.NewWriterSize(to, 1<<16)
	fmt.Fprintln(w, "time,a,b,c,d,e")
	at := time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC)
	var line []byte
	for i := range rows {
		line = at.Add(time.Duration(i)*time.Second).AppendFormat(line[:0], "2006-01-02 15:04:05")
		for c := range traceChannels {
			line = append(line, ',')
			line = strconv.AppendInt(line, int64(i*(c+7)%600), 10)
		}
		if _, err := w.Write(append(line, '\n')); err != nil {
			return err
		}
		if i%20_000 == 0 {
			look()
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	look()
	return to.Close()
}

// peakResident is the high-water mark of a process, in bytes.
func peakResident(pid int) (bytes int, found bool) {
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0, false
	}
	for line := range strings.Lines(string(status)) {
		rest, found := strings.CutPrefix(line, "VmHWM:")
		if !found {
			continue
		}
		kilobytes, err := strconv.Atoi(strings.TrimSuffix(strings.TrimSpace(rest), " kB"))
		return kilobytes << 10, err == nil
	}
	return 0, false
}
