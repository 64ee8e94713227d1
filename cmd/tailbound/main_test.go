package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"flag"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"
)

// Regenerate the wanted output inside the scripts with: go test ./cmd/tailbound/ -update.
var update = flag.Bool("update", false, "write the wanted output of the scripts anew")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"tailbound": main})
}

// TestScripts runs the command lines of testdata/script, each as a process of its own.
func TestScripts(t *testing.T) {
	t.Parallel()
	data, err := filepath.Abs(filepath.Join("..", "..", "testdata"))
	require.NoError(t, err)
	scripts, err := filepath.Glob(filepath.Join(data, "script", "*.txtar"))
	require.NoError(t, err)
	if testing.Short() {
		// Short runs are those with the race detector, under which a process takes long to start: these reach every command.
		scripts = slices.DeleteFunc(scripts, func(path string) bool {
			return !slices.Contains([]string{"airchange", "campaign", "compare", "partition", "plan", "reduce", "report"}, strings.TrimSuffix(filepath.Base(path), ".txtar"))
		})
	}
	testscript.Run(t, testscript.Params{
		Files:               scripts,
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("TESTDATA", data)
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"exits": exits},
	})
}

// exits runs a program and checks its exit code: exits CODE program args...
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE program args...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var exit *exec.ExitError
	if err := ts.Exec(args[1], args[2:]...); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else {
		ts.Check(err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// desktop runs a command line inside the test.
func desktop(ctx context.Context, args ...string) (code int, stdout, stderr string) {
	var out, err bytes.Buffer
	code = run(ctx, args, strings.NewReader(""), &out, &err)
	return code, out.String(), err.String()
}

// TestServe starts the service, asks it by the desk and by HTTP, and interrupts it.
func TestServe(t *testing.T) {
	t.Parallel()
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	log, logWriter := io.Pipe()
	code := make(chan int, 1)
	go func() {
		defer logWriter.Close()
		code <- run(ctx, []string{"serve", "--grpc-addr", "127.0.0.1:0", "--http-addr", "127.0.0.1:0"}, strings.NewReader(""), io.Discard, logWriter)
	}()
	lines := bufio.NewReader(log)
	grpcAddr, httpAddr := served(t, lines)
	go func() { _, _ = io.Copy(io.Discard, lines) }()

	campaign := filepath.Join("..", "..", "testdata", "campaign.csv")
	for _, format := range formats() {
		exit, remote, told := desktop(ctx, "assess", campaign, "--format", format, "--server", grpcAddr)
		require.Equal(t, exitDone, exit, told)
		exit, local, told := desktop(ctx, "assess", campaign, "--format", format)
		require.Equal(t, exitDone, exit, told)
		require.Equal(t, local, remote, "a service asked over the network gives the same bytes as one inside the process")
	}

	request, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://"+httpAddr+"/v1/groups:assess",
		strings.NewReader(`{"readings":[{"value":0.1},{"value":0.2}],"unit":"ppm"}`))
	require.NoError(t, err)
	answer, err := http.DefaultClient.Do(request)
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	require.Equal(t, http.StatusOK, answer.StatusCode)

	stop()
	require.Equal(t, exitDone, <-code)
}

// served waits for the log to say where the service is.
func served(t *testing.T, log *bufio.Reader) (grpcAddr, httpAddr string) {
	t.Helper()
	addresses := regexp.MustCompile(`msg=serving grpc=(\S+) http=(\S+)`)
	for {
		line, err := log.ReadString('\n')
		require.NoError(t, err)
		if found := addresses.FindStringSubmatch(line); found != nil {
			return found[1], found[2]
		}
	}
}

func TestInterruptedDesk(t *testing.T) {
	t.Parallel()
	ctx, stop := context.WithCancel(t.Context())
	stop()
	code, _, told := desktop(ctx, "assess", filepath.Join("..", "..", "testdata", "campaign.csv"))
	require.Equal(t, exitFailed, code)
	require.Equal(t, "tailbound: interrupted\n", told)
}

func TestOutputThatCannotBeWritten(t *testing.T) {
	t.Parallel()
	for _, format := range formats() {
		var told bytes.Buffer
		code := run(t.Context(), []string{"assess", filepath.Join("..", "..", "testdata", "campaign.csv"), "--format", format},
			strings.NewReader(""), full{}, &told)
		require.Equal(t, exitFailed, code)
		require.Contains(t, told.String(), os.ErrClosed.Error())
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, os.ErrClosed }

// A group without an answer for a fault of the service is told apart from one that was refused.
func TestConclude(t *testing.T) {
	t.Parallel()
	cases := map[error]int{nil: exitDone, errRefused: exitUsage, errFailedGroup: exitFailed, errNotCompliant: exitNotCompliant, errors.New("odd"): exitFailed}
	for err, want := range cases {
		require.Equal(t, want, conclude(streams{err: io.Discard}, err))
	}
}
