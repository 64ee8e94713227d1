package rest_test

import (
	"bufio"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// dozen is a group of 12 readings as a line of JSON.
func dozen(i int) string {
	var b strings.Builder
	fmt.Fprintf(&b, `{"name":"%d","unit":"mg/m3","limit":{"value":1.5},"readings":[`, i)
	for j, v := range []float64{0.11, 0.24, 0.08, 0.31, 0.17, 0.52, 0.09, 0.14, 0.2, 0.28, 0.12, 0.41} {
		if j > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(&b, `{"value":%g}`, v*(1+float64((i*7+j*3)%97)/500))
	}
	b.WriteString("]}")
	return b.String()
}

// BenchmarkREST compares an assessment over REST with the emptiest request of the same server, with 64 callers.
func BenchmarkREST(b *testing.B) {
	s := whole(b)
	s.client.Transport = &http.Transport{MaxIdleConnsPerHost: 64}
	for _, c := range []struct{ name, method, path, body string }{
		{"empty", http.MethodGet, "/healthz", ""},
		{"assess", http.MethodPost, "/v1/groups:assess", dozen(1)},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.SetParallelism(32)
			b.RunParallel(func(p *testing.PB) {
				for p.Next() {
					r, err := http.NewRequest(c.method, s.url+c.path, strings.NewReader(c.body))
					require.NoError(b, err)
					response, err := s.client.Do(r)
					if err != nil {
						b.Error(err)
						return
					}
					_, _ = io.Copy(io.Discard, response.Body)
					_ = response.Body.Close()
				}
			})
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "requests/s")
		})
	}
	s.client.CloseIdleConnections()
}

// BenchmarkAssessAll is one long stream of lines.
func BenchmarkAssessAll(b *testing.B) {
	s := whole(b)
	lines := make([]string, 64)
	for i := range lines {
		lines[i] = dozen(i) + "\n"
	}
	body, out := io.Pipe()
	go func() {
		w := bufio.NewWriterSize(out, 64<<10)
		for i := range b.N {
			_, _ = w.WriteString(lines[i%64])
		}
		_ = w.Flush()
		_ = out.Close()
	}()
	start := time.Now()
	response, err := s.client.Post(s.url+assessAll, "", body)
	require.NoError(b, err)
	defer response.Body.Close()
	n, err := io.Copy(io.Discard, response.Body)
	require.NoError(b, err)
	b.ReportMetric(float64(b.N)/time.Since(start).Seconds(), "groups/s")
	b.ReportMetric(float64(n)/float64(b.N), "bytes/group")
}
