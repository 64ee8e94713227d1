package service_test

import (
	"context"
	"math"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// TestStopWhileAReportIsWritten: a report that is being written when the service stops is finished and sent, over both faces, and one
// that would take longer than the drain is cut.
func TestStopWhileAReportIsWritten(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		drain  time.Duration
		groups int
		code   codes.Code
	}{
		{"in time", time.Minute, 200, codes.OK},
		{"too long", 50 * time.Millisecond, 1000, codes.Unavailable},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			o := onFreePorts()
			o.DrainTimeout = c.drain
			app := started(t, o)
			request := &tailboundv1.RenderReportRequest{}
			for range c.groups {
				request.Groups = append(request.Groups, three())
			}
			conn := dial(t, app.GRPCAddr())
			// So that the report finds its connection open.
			_, err := tailboundv1.NewAssessmentServiceClient(conn).AssessGroup(t.Context(), three())
			require.NoError(t, err)
			overGRPC, overHTTP := make(chan error, 1), make(chan error, 1)
			go func() {
				_, err := tailboundv1.NewReportServiceClient(conn).RenderReport(t.Context(), request, grpc.MaxCallRecvMsgSize(math.MaxInt32))
				overGRPC <- err
			}()
			go func() {
				group := `{"readings":[{"value":0.1},{"value":0.2},{"value":0.4}],"unit":"mg/m3","limit":{"value":2}}`
				body := `{"groups":[` + group + strings.Repeat(","+group, c.groups-1) + `]}`
				client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
				response, err := client.Post("http://"+app.HTTPAddr()+"/v1/groups:report", "", strings.NewReader(body))
				if err == nil {
					_ = response.Body.Close()
					if response.StatusCode != http.StatusOK {
						err = status.Error(codes.Unavailable, response.Status)
					}
				}
				overHTTP <- err
			}()
			time.Sleep(500 * time.Millisecond)
			require.NoError(t, app.Stop(context.Background()))
			require.Equal(t, c.code, status.Code(<-overGRPC))
			if err := <-overHTTP; c.code == codes.OK {
				require.NoError(t, err)
			} else {
				require.Error(t, err)
			}
		})
	}
}
