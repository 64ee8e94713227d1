package rest_test

import (
	"io"
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/web"
)

// TestPageStandsBesideTheCalls checks that the page is at the root and takes nothing from the calls.
func TestPageStandsBesideTheCalls(t *testing.T) {
	t.Parallel()
	s := whole(t)
	for _, c := range []struct {
		method, path string
		code         int
		page         bool
	}{
		{http.MethodGet, "/", http.StatusOK, true},
		{http.MethodHead, "/", http.StatusOK, true},
		{http.MethodPost, "/", http.StatusMethodNotAllowed, true},
		{http.MethodGet, "/assets/app.js", http.StatusOK, true},
		{http.MethodGet, "/assets/none.js", http.StatusNotFound, true},
		{http.MethodGet, "/healthz", http.StatusOK, false},
		{http.MethodGet, "/index.html", http.StatusNotFound, false},
		{http.MethodGet, "/v1/groups:assess", http.StatusMethodNotAllowed, false},
	} {
		request, err := http.NewRequestWithContext(t.Context(), c.method, s.url+c.path, nil)
		require.NoError(t, err)
		answer, err := s.client.Do(request)
		require.NoError(t, err)
		_, err = io.Copy(io.Discard, answer.Body)
		require.NoError(t, err)
		require.NoError(t, answer.Body.Close())
		require.Equal(t, c.code, answer.StatusCode, "%s %s", c.method, c.path)
		require.Equal(t, c.page, answer.Header.Get("Content-Security-Policy") == web.Policy, "%s %s", c.method, c.path)
		require.NotEmpty(t, answer.Header.Get("X-Request-Id"))
	}
}
