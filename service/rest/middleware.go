package rest

import (
	"bytes"
	"crypto/rand"
	"errors"
	"io"
	"net/http"
	"os"
	"time"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
)

// requestIDHeader names a request in the log, over HTTP as over gRPC.
const requestIDHeader = "X-Request-Id"

// identified gives every request an id, the caller's own if it is short and printable, and answers with it.
func identified(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		id := r.Header.Get(requestIDHeader)
		if !printable(id) {
			id = rand.Text()
			r.Header.Set(requestIDHeader, id)
		}
		w.Header().Set(requestIDHeader, id)
		next.ServeHTTP(w, r)
	})
}

// taken has every body taken for JSON, whatever type it is said to have. The gateway would complain of a type that it cannot parse
// on the standard error of the process, past its log, in words that the caller chose.
func taken(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Header.Set("Content-Type", "application/json")
		next.ServeHTTP(w, r)
	})
}

func printable(id string) bool {
	const longest = 128
	if id == "" || len(id) > longest {
		return false
	}
	for i := range len(id) {
		if id[i] <= ' ' || id[i] > '~' {
			return false
		}
	}
	return true
}

// incomingHeader passes the id to gRPC and nothing else of the caller's headers.
func incomingHeader(key string) (string, bool) {
	return requestIDHeader, key == requestIDHeader
}

// outgoingHeader keeps gRPC's headers inside; identified has set the one that matters.
func outgoingHeader(string) (string, bool) { return "", false }

// bounded reads the whole body of a unary call before anything is made of it, within the limits of size and time. It lets no client
// hold an answer up; that of assessAll has a watchdog of its own.
func (f *face) bounded(next runtime.HandlerFunc) runtime.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request, params map[string]string) {
		if r.URL.Path == pathAssessAll {
			next(w, r, params)
			return
		}
		w = paceWrites(w, f.StreamIdleTimeout)
		if r.Method != http.MethodPost {
			next(w, r, params)
			return
		}
		data, err := f.readBody(w, r)
		if err != nil {
			f.fail(r.Context(), f.mux, codec{}, w, r, err)
			return
		}
		body := &wholeBody{data: data}
		body.Reset(data)
		r.Body = body
		next(w, r, params)
	}
}

func (f *face) readBody(w http.ResponseWriter, r *http.Request) ([]byte, error) {
	control := http.NewResponseController(w)
	if f.RequestTimeout > 0 {
		// A connection without deadlines, as in a test, needs none.
		_ = control.SetReadDeadline(time.Now().Add(f.RequestTimeout))
	}
	var buffer bytes.Buffer
	if n := r.ContentLength; n > 0 && n <= int64(f.MaxMessageBytes) {
		// One byte more than needed, so that the end is found without growing.
		buffer.Grow(int(n) + bytes.MinRead)
	}
	_, err := buffer.ReadFrom(http.MaxBytesReader(w, r.Body, int64(f.MaxMessageBytes)))
	var tooLarge *http.MaxBytesError
	switch {
	case err == nil:
		// The server reads on to notice a client that leaves, and would take the deadline for that. Where there is more of a body to
		// come the deadline must stay, for the server waits for that too.
		_ = control.SetReadDeadline(time.Time{})
		return buffer.Bytes(), nil
	case errors.As(err, &tooLarge):
		return nil, status.Errorf(codes.ResourceExhausted, "the body has more than %d bytes, the most that this server takes", f.MaxMessageBytes)
	case errors.Is(err, os.ErrDeadlineExceeded):
		late := status.Errorf(codes.DeadlineExceeded, "the body did not come within %v", f.RequestTimeout)
		return nil, &runtime.HTTPStatusError{HTTPStatus: http.StatusRequestTimeout, Err: late}
	default:
		return nil, status.Error(codes.Canceled, "the body was cut")
	}
}

// wholeBody is a body that has been read; the codec takes the bytes without another copy.
type wholeBody struct {
	bytes.Reader
	data []byte
}

// Close does nothing.
func (*wholeBody) Close() error { return nil }

var _ io.ReadCloser = (*wholeBody)(nil)
