package web_test

import (
	"compress/gzip"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/tailbound/service/web"
)

// page is made once: compressing it takes its time, above all under the race detector.
var page = sync.OnceValues(web.New)

// get asks the page for a path, with the headers given as name and value in turn.
func get(tb testing.TB, method, path string, headers ...string) *http.Response {
	tb.Helper()
	served, err := page()
	require.NoError(tb, err)
	r := httptest.NewRequest(method, path, nil)
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	served.ServeHTTP(w, r)
	return w.Result()
}

func body(tb testing.TB, r *http.Response) string {
	tb.Helper()
	b, err := io.ReadAll(r.Body)
	require.NoError(tb, err)
	return string(b)
}

// sources are the files of the page by the path that serves them.
func sources(tb testing.TB) map[string]string {
	tb.Helper()
	out := map[string]string{}
	names, err := filepath.Glob("page/assets/*")
	require.NoError(tb, err)
	for _, name := range append(names, "page/index.html") {
		b, err := os.ReadFile(name)
		require.NoError(tb, err)
		out[strings.TrimSuffix(strings.TrimPrefix(filepath.ToSlash(name), "page"), "index.html")] = string(b)
	}
	require.Contains(tb, out, "/")
	return out
}

func TestEveryFileIsServedWithItsTypeAndProtected(t *testing.T) {
	t.Parallel()
	types := map[string]string{
		"": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8",
		".svg": "image/svg+xml", ".csv": "text/csv; charset=utf-8",
	}
	for path, want := range sources(t) {
		r := get(t, http.MethodGet, path)
		require.Equal(t, http.StatusOK, r.StatusCode, path)
		require.Equal(t, want, body(t, r), path)
		require.Equal(t, types[filepath.Ext(path)], r.Header.Get("Content-Type"), path)
		requireProtected(t, r)
		head := get(t, http.MethodHead, path)
		require.Equal(t, http.StatusOK, head.StatusCode, path)
		require.Empty(t, body(t, head), path)
	}
}

func requireProtected(tb testing.TB, r *http.Response) {
	tb.Helper()
	require.Equal(tb, web.Policy, r.Header.Get("Content-Security-Policy"))
	require.Equal(tb, "nosniff", r.Header.Get("X-Content-Type-Options"))
	require.Equal(tb, "no-referrer", r.Header.Get("Referrer-Policy"))
	require.Equal(tb, "DENY", r.Header.Get("X-Frame-Options"))
}

func TestPolicyAllowsNothingButThePage(t *testing.T) {
	t.Parallel()
	for _, part := range []string{
		"default-src 'none'", "script-src 'self'", "style-src 'self'", "img-src 'self' blob: data:", "connect-src 'self'",
		"form-action 'none'", "base-uri 'none'", "frame-ancestors 'none'",
	} {
		require.Contains(t, strings.Split(web.Policy, "; "), part)
	}
	require.NotContains(t, web.Policy, "unsafe")
}

func TestOtherPathsAndMethodsAreRefused(t *testing.T) {
	t.Parallel()
	for _, path := range []string{"/assets/", "/assets/none.js", "/assets/../web.go", "/index.html", "/page/index.html"} {
		r := get(t, http.MethodGet, path)
		require.Equal(t, http.StatusNotFound, r.StatusCode, path)
		requireProtected(t, r)
	}
	r := get(t, http.MethodPost, "/")
	require.Equal(t, http.StatusMethodNotAllowed, r.StatusCode)
	require.Equal(t, "GET, HEAD", r.Header.Get("Allow"))
}

func TestTagsAreTheContent(t *testing.T) {
	t.Parallel()
	first := get(t, http.MethodGet, "/assets/app.css")
	tag := first.Header.Get("ETag")
	require.Regexp(t, `^"[0-9a-f]{32}"$`, tag)
	require.Equal(t, "no-cache", first.Header.Get("Cache-Control"))
	require.NotEqual(t, tag, get(t, http.MethodGet, "/assets/app.js").Header.Get("ETag"))
	again := get(t, http.MethodGet, "/assets/app.css", "If-None-Match", tag)
	require.Equal(t, http.StatusNotModified, again.StatusCode)
	require.Empty(t, body(t, again))
	packed := get(t, http.MethodGet, "/assets/app.css", "Accept-Encoding", "gzip", "If-None-Match", tag)
	require.Equal(t, http.StatusOK, packed.StatusCode, "other bytes have another tag")
}

func TestFilesAreCompressedForWhoTakesIt(t *testing.T) {
	t.Parallel()
	for header, want := range map[string]bool{
		"": false, "gzip": true, "br, gzip;q=0.5": true, "deflate, GZIP": true, "gzip;q=0": false, "gzip; q=0.0": false, "identity": false, "gzippy": false,
	} {
		r := get(t, http.MethodGet, "/", "Accept-Encoding", header)
		require.Equal(t, want, r.Header.Get("Content-Encoding") == "gzip", "%q", header)
		require.Equal(t, "Accept-Encoding", r.Header.Get("Vary"))
	}
	reader, err := gzip.NewReader(get(t, http.MethodGet, "/", "Accept-Encoding", "gzip").Body)
	require.NoError(t, err)
	unpacked, err := io.ReadAll(reader)
	require.NoError(t, err)
	require.Equal(t, sources(t)["/"], string(unpacked))
}

// TestWeight keeps the page light: issue 7 allows 150 kB compressed for all of it, examples included; 60 kB is our own bound.
func TestWeight(t *testing.T) {
	t.Parallel()
	const most = 60_000
	total := 0
	for path := range sources(t) {
		total += len(body(t, get(t, http.MethodGet, path, "Accept-Encoding", "gzip")))
	}
	t.Logf("the page weighs %d bytes compressed", total)
	require.Less(t, total, most)
}

// TestNothingIsInlineOrForeign backs the policy: what it would refuse is not there to begin with.
func TestNothingIsInlineOrForeign(t *testing.T) {
	t.Parallel()
	for path, text := range sources(t) {
		foreign := strings.ReplaceAll(text, "http://www.w3.org/2000/svg", "")
		require.NotRegexp(t, `https?://|["'(]//[a-z]`, foreign, path)
		switch filepath.Ext(path) {
		case "":
			require.NotRegexp(t, `(?i)<style|style=|\son\w+=|javascript:|<script(?:>| [^>]*>[^<])`, text, path)
		case ".js":
			require.NotRegexp(t, `innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\(|new Function|setAttribute\('style|console\.`, text, path)
			require.LessOrEqual(t, strings.Count(text, "\n"), 250, "%s is too long", path)
			require.True(t, strings.HasPrefix(text, "// @ts-check\n/** "), "%s says what it is", path)
		}
	}
}

// TestExamplesAreThoseOfTheRepository keeps the copies equal: a file can be embedded only from under its package.
func TestExamplesAreThoseOfTheRepository(t *testing.T) {
	t.Parallel()
	for copied, original := range map[string]string{
		"/assets/example.csv":     "campaign.csv",
		"/assets/example-log.csv": "logs/instrument1-parts-store.csv",
	} {
		want, err := os.ReadFile(filepath.Join("../../testdata", original))
		require.NoError(t, err)
		require.Equal(t, string(want), body(t, get(t, http.MethodGet, copied)), copied)
	}
}
