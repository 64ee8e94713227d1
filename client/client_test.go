package client_test

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"go/parser"
	"go/token"
	"net"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func named(_ context.Context, request *tailboundv1.AssessGroupRequest) (*tailboundv1.AssessGroupResponse, error) {
	return &tailboundv1.AssessGroupResponse{Name: request.GetName()}, nil
}

func TestEveryUnaryCallReachesItsMethod(t *testing.T) {
	t.Parallel()
	c := start(t, &fake{
		assess: named,
		compare: func(*tailboundv1.CompareCampaignsRequest) (*tailboundv1.CompareCampaignsResponse, error) {
			return &tailboundv1.CompareCampaignsResponse{Caution: "compared"}, nil
		},
	})
	ctx := t.Context()

	assessed, err := c.AssessGroup(ctx, &tailboundv1.AssessGroupRequest{Name: "a"})
	require.NoError(t, err)
	require.Equal(t, "a", assessed.GetName())

	partitioned, err := c.PartitionGroup(ctx, &tailboundv1.PartitionGroupRequest{Name: "b"})
	require.NoError(t, err)
	require.Equal(t, "b", partitioned.GetName())

	compared, err := c.CompareCampaigns(ctx, &tailboundv1.CompareCampaignsRequest{})
	require.NoError(t, err)
	require.Equal(t, "compared", compared.GetCaution())

	planned, err := c.PlanSampling(ctx, &tailboundv1.PlanSamplingRequest{})
	require.NoError(t, err)
	require.EqualValues(t, 6, planned.GetSamplesNeeded())

	results, err := c.ReadResults(ctx, &tailboundv1.ReadResultsRequest{Name: "c.csv"})
	require.NoError(t, err)
	require.Equal(t, []string{"c.csv"}, results.GetHeader())

	log, err := c.ReadLog(ctx, &tailboundv1.ReadLogRequest{Name: "d.csv"})
	require.NoError(t, err)
	require.Equal(t, []string{"d.csv"}, log.GetHeader())
}

func TestUnavailableIsRetried(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		failures, attempts int32
		code               codes.Code
	}{
		{failures: 0, attempts: 1},
		{failures: 2, attempts: 3},
		{failures: 9, attempts: 5, code: codes.Unavailable}, // gRPC's most.
	} {
		t.Run(fmt.Sprintf("%d failures", row.failures), func(t *testing.T) {
			t.Parallel()
			var attempts atomic.Int32
			c := start(t, &fake{assess: func(ctx context.Context, request *tailboundv1.AssessGroupRequest) (*tailboundv1.AssessGroupResponse, error) {
				if attempts.Add(1) <= row.failures {
					return nil, status.Error(codes.Unavailable, "starting")
				}
				return named(ctx, request)
			}})
			answer, err := c.AssessGroup(t.Context(), &tailboundv1.AssessGroupRequest{Name: "a"})
			require.Equal(t, row.attempts, attempts.Load())
			require.Equal(t, row.code, status.Code(err))
			require.Equal(t, row.code == codes.Unavailable, client.IsUnavailable(err))
			if row.code == codes.OK {
				require.Equal(t, "a", answer.GetName())
			}
		})
	}
}

func TestOtherFailuresAreNotRetried(t *testing.T) {
	t.Parallel()
	for _, code := range []codes.Code{codes.InvalidArgument, codes.FailedPrecondition, codes.ResourceExhausted, codes.Internal} {
		var attempts atomic.Int32
		c := start(t, &fake{assess: func(context.Context, *tailboundv1.AssessGroupRequest) (*tailboundv1.AssessGroupResponse, error) {
			attempts.Add(1)
			return nil, status.Error(code, "no")
		}})
		_, err := c.AssessGroup(t.Context(), &tailboundv1.AssessGroupRequest{})
		require.Equal(t, code, status.Code(err))
		require.EqualValues(t, 1, attempts.Load(), code)
	}
}

func TestServerThatComesUpLateIsReached(t *testing.T) {
	t.Parallel()
	socket := filepath.Join(t.TempDir(), "tailbound.sock")
	c, err := client.Dial("unix:"+socket, client.Plaintext())
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, c.Close()) })

	done := make(chan error, 1)
	go func() {
		_, err := c.AssessGroup(t.Context(), &tailboundv1.AssessGroupRequest{Name: "a"})
		done <- err
	}()
	select {
	case early := <-done:
		require.Fail(t, "the call did not wait for the server", "%v", early)
	case <-time.After(200 * time.Millisecond):
	}
	listener, err := (&net.ListenConfig{}).Listen(t.Context(), "unix", socket)
	require.NoError(t, err)
	serve(t, &fake{assess: named}, listener)
	require.NoError(t, <-done)
}

func TestTimeoutHoldsWhereTheCallerStatedNone(t *testing.T) {
	t.Parallel()
	left := func(t *testing.T, ctx context.Context, options ...client.Option) (time.Duration, bool) {
		t.Helper()
		var deadline time.Time
		var ok bool
		c := start(t, &fake{assess: func(ctx context.Context, _ *tailboundv1.AssessGroupRequest) (*tailboundv1.AssessGroupResponse, error) {
			deadline, ok = ctx.Deadline()
			return &tailboundv1.AssessGroupResponse{}, nil
		}}, options...)
		_, err := c.AssessGroup(ctx, &tailboundv1.AssessGroupRequest{})
		require.NoError(t, err)
		return time.Until(deadline), ok
	}
	stated, cancel := context.WithTimeout(t.Context(), time.Hour)
	defer cancel()
	const slack = 10 * time.Second // What a busy machine may lose.

	got, ok := left(t, t.Context())
	require.True(t, ok)
	require.InDelta(t, client.DefaultTimeout, got, float64(slack))

	got, ok = left(t, t.Context(), client.WithTimeout(10*time.Minute))
	require.True(t, ok)
	require.InDelta(t, 10*time.Minute, got, float64(slack))

	got, ok = left(t, stated)
	require.True(t, ok, "a caller's longer deadline is kept")
	require.InDelta(t, time.Hour, got, float64(slack))

	_, ok = left(t, t.Context(), client.WithTimeout(0))
	require.False(t, ok)
}

func TestTimeoutEndsACallThatHangs(t *testing.T) {
	t.Parallel()
	c := start(t, &fake{assess: func(ctx context.Context, _ *tailboundv1.AssessGroupRequest) (*tailboundv1.AssessGroupResponse, error) {
		<-ctx.Done()
		return nil, ctx.Err()
	}}, client.WithTimeout(20*time.Millisecond))
	_, err := c.AssessGroup(t.Context(), &tailboundv1.AssessGroupRequest{})
	require.ErrorIs(t, err, context.DeadlineExceeded)
	require.Equal(t, codes.DeadlineExceeded, status.Code(err))
}

func TestMessagesBeyondFourMebibytes(t *testing.T) {
	t.Parallel()
	// gRPC's own default for an answer is 4 MiB.
	c := start(t, &fake{assess: named})
	answer, err := c.AssessGroup(t.Context(), &tailboundv1.AssessGroupRequest{Name: strings.Repeat("n", 7<<20)})
	require.NoError(t, err)
	require.Len(t, answer.GetName(), 7<<20)

	_, err = c.AssessGroup(t.Context(), &tailboundv1.AssessGroupRequest{Name: strings.Repeat("n", 8<<20)})
	require.Equal(t, codes.ResourceExhausted, status.Code(err))

	small := start(t, &fake{assess: named}, client.WithMessageBytes(1<<10))
	_, err = small.AssessGroup(t.Context(), &tailboundv1.AssessGroupRequest{Name: strings.Repeat("n", 2<<10)})
	require.Equal(t, codes.ResourceExhausted, status.Code(err))
}

func TestUserAgentNamesTheCaller(t *testing.T) {
	t.Parallel()
	var agent []string
	c := start(t, &fake{assess: func(ctx context.Context, _ *tailboundv1.AssessGroupRequest) (*tailboundv1.AssessGroupResponse, error) {
		agent = metadata.ValueFromIncomingContext(ctx, "user-agent")
		return &tailboundv1.AssessGroupResponse{}, nil
	}}, client.WithUserAgent("night-report/3.1"))
	_, err := c.AssessGroup(t.Context(), &tailboundv1.AssessGroupRequest{})
	require.NoError(t, err)
	require.Len(t, agent, 1)
	require.Regexp(t, `^night-report/3\.1 tailbound-client-go grpc-go/`, agent[0])
}

func TestDialWantsOneStatedProtection(t *testing.T) {
	t.Parallel()
	for name, row := range map[string]struct {
		target  string
		options []client.Option
	}{
		"none":      {target: "localhost:1"},
		"both":      {target: "localhost:1", options: []client.Option{client.Plaintext(), client.TLS(nil)}},
		"no target": {options: []client.Option{client.Plaintext()}},
		"bad target": {
			target:  "unix:relative/path:%zz",
			options: []client.Option{client.Plaintext(), client.WithDialOptions(grpc.WithDefaultServiceConfig("{"))},
		},
	} {
		_, err := client.Dial(row.target, row.options...)
		require.ErrorContains(t, err, "client: ", name)
	}
}

func TestTLSChecksTheServer(t *testing.T) {
	t.Parallel()
	donor := httptest.NewTLSServer(nil) // Lends its certificate, made out to example.com.
	donor.Close()
	listener, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	require.NoError(t, err)
	serve(t, &fake{assess: named}, listener, grpc.Creds(credentials.NewServerTLSFromCert(&donor.TLS.Certificates[0])))
	roots := x509.NewCertPool()
	roots.AddCert(donor.Certificate())

	for name, row := range map[string]struct {
		option client.Option
		code   codes.Code
	}{
		"known root":    {option: client.TLS(&tls.Config{RootCAs: roots, ServerName: "example.com"})},
		"other host":    {option: client.TLS(&tls.Config{RootCAs: roots, ServerName: "example.org"}), code: codes.Unavailable},
		"unknown root":  {option: client.TLS(nil), code: codes.Unavailable},
		"no protection": {option: client.Plaintext(), code: codes.Unavailable},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			// One attempt: retries cannot mend a certificate.
			c, err := client.Dial(listener.Addr().String(), row.option, client.WithDialOptions(grpc.WithDisableRetry()))
			require.NoError(t, err)
			t.Cleanup(func() { require.NoError(t, c.Close()) })
			_, err = c.AssessGroup(t.Context(), &tailboundv1.AssessGroupRequest{})
			require.Equal(t, row.code, status.Code(err), err)
		})
	}
}

func TestNewLeavesTheConnectionToItsOwner(t *testing.T) {
	t.Parallel()
	listener, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	require.NoError(t, err)
	serve(t, &fake{assess: named}, listener)
	conn, err := grpc.NewClient(listener.Addr().String(), grpc.WithTransportCredentials(insecure.NewCredentials()))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, conn.Close()) })

	require.NoError(t, client.New(conn).Close())
	answer, err := client.New(conn).AssessGroup(t.Context(), &tailboundv1.AssessGroupRequest{Name: "a"})
	require.NoError(t, err)
	require.Equal(t, "a", answer.GetName())
}

func TestClosedClientFails(t *testing.T) {
	t.Parallel()
	c, err := client.Dial("127.0.0.1:1", client.Plaintext())
	require.NoError(t, err)
	require.NoError(t, c.Close())
	_, err = c.AssessGroup(t.Context(), &tailboundv1.AssessGroupRequest{})
	require.ErrorIs(t, err, context.Canceled)
	var failure *client.Error
	require.ErrorAs(t, err, &failure)
}

// TestClientStandsAlone keeps the client importable by programs that must not link the service.
func TestClientStandsAlone(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ImportsOnly)
		require.NoError(t, err)
		for _, imported := range file.Imports {
			require.NotContains(t, imported.Path.Value, "example.com/tailbound/service", name)
		}
	}
}
