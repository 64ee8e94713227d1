package rest

import (
	"context"
	"errors"
	"net/http"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
)

// fail answers {code, message, details}: the gRPC status as JSON, under the HTTP status that goes with it.
func (f *face) fail(ctx context.Context, mux *runtime.ServeMux, m runtime.Marshaler, w http.ResponseWriter, r *http.Request, err error) {
	err = blame(err)
	if _, ok := errors.AsType[*runtime.HTTPStatusError](err); !ok {
		err = &runtime.HTTPStatusError{HTTPStatus: httpStatus(status.Code(err)), Err: err}
	}
	runtime.DefaultHTTPErrorHandler(ctx, mux, m, w, r, err)
}

// httpStatus is the gateway's table but for ResourceExhausted: here that is a request which is too large, never a rate.
func httpStatus(c codes.Code) int {
	if c == codes.ResourceExhausted {
		return http.StatusRequestEntityTooLarge
	}
	return runtime.HTTPStatusFromCode(c)
}

// failRouting answers a request that no handler takes.
func (f *face) failRouting(ctx context.Context, mux *runtime.ServeMux, m runtime.Marshaler, w http.ResponseWriter, r *http.Request, code int) {
	err := status.Errorf(codes.NotFound, "there is nothing at this path; %s lists what there is", pathOpenAPI)
	switch code {
	case http.StatusMethodNotAllowed:
		allowed := http.MethodPost
		if r.URL.Path == pathOpenAPI || r.URL.Path == pathHealth {
			allowed = http.MethodGet
		}
		w.Header().Set("Allow", allowed)
		err = status.Errorf(codes.Unimplemented, "this path takes %s only", allowed)
	case http.StatusBadRequest:
		err = status.Error(codes.InvalidArgument, "the path is malformed")
	}
	f.fail(ctx, mux, m, w, r, &runtime.HTTPStatusError{HTTPStatus: code, Err: err})
}
