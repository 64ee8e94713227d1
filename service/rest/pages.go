package rest

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"net/http"
	"strings"
	"time"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	healthgrpc "google.golang.org/grpc/health/grpc_health_v1"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/web"
)

// paged serves the page for people beside the calls.
func paged(page, calls http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/" || strings.HasPrefix(r.URL.Path, web.Assets) {
			page.ServeHTTP(w, r)
			return
		}
		calls.ServeHTTP(w, r)
	})
}

// openAPI serves the OpenAPI document. Its tag is its content, so a cache asks again but seldom downloads again.
func openAPI() runtime.HandlerFunc {
	sum := sha256.Sum256(tailboundv1.OpenAPI)
	tag := `"` + hex.EncodeToString(sum[:16]) + `"`
	return func(w http.ResponseWriter, r *http.Request, _ map[string]string) {
		h := w.Header()
		h.Set("Content-Type", "application/json")
		h.Set("Cache-Control", "public, max-age=300")
		h.Set("ETag", tag)
		http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(tailboundv1.OpenAPI))
	}
}

// healthz answers 200 while the service takes calls and 503 when it is starting or draining.
func (f *face) healthz(w http.ResponseWriter, r *http.Request, _ map[string]string) {
	code, text := http.StatusOK, healthgrpc.HealthCheckResponse_SERVING.String()
	answer, err := f.health.Check(r.Context(), &healthgrpc.HealthCheckRequest{})
	if err != nil || answer.GetStatus() != healthgrpc.HealthCheckResponse_SERVING {
		code, text = http.StatusServiceUnavailable, healthgrpc.HealthCheckResponse_NOT_SERVING.String()
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(code)
	_, _ = io.WriteString(w, `{"status":"`+text+`"}`+"\n")
}
