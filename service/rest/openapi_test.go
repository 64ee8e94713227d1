package rest_test

import (
	"encoding/json"
	"net/http"
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"
)

// TestOpenAPIIsWhole: the document that is served has every call, with the media types that the calls take and answer with, and every
// reference in it leads somewhere.
func TestOpenAPIIsWhole(t *testing.T) {
	t.Parallel()
	text := whole(t).do(t, http.MethodGet, "/v1/openapi.json", "").body
	var document struct {
		Swagger            string
		Consumes, Produces []string
		Paths              map[string]map[string]struct {
			OperationID        string `json:"operationId"`
			Consumes, Produces []string
			Responses          map[string]struct{ Schema json.RawMessage }
		}
		Definitions map[string]json.RawMessage
	}
	require.NoError(t, json.Unmarshal([]byte(text), &document))
	require.Equal(t, "2.0", document.Swagger)
	for _, reference := range regexp.MustCompile(`"\$ref": ?"([^"]*)"`).FindAllStringSubmatch(text, -1) {
		name, inside := reference[1][len("#/definitions/"):], reference[1][:len("#/definitions/")]
		require.Equal(t, "#/definitions/", inside)
		require.Contains(t, document.Definitions, name)
	}
	require.Equal(t, []string{"application/json"}, document.Consumes)
	require.Equal(t, []string{"application/json"}, document.Produces)

	lines := []string{"application/x-ndjson"}
	figure := []string{"image/svg+xml", "image/png", "application/json"}
	kinds := map[string]struct{ consumes, produces []string }{
		"/v1/groups:assess": {}, "/v1/groups:partition": {}, "/v1/campaigns:compare": {}, "/v1/sampling:plan": {}, "/v1/traces:airChange": {},
		"/v1/results:read": {}, "/v1/logs:read": {},
		"/v1/groups:assessAll": {lines, lines}, "/v1/traces:reduce": {lines, nil}, "/v1/traces:plot": {lines, figure},
		"/v1/groups:plot": {nil, figure}, "/v1/campaigns:plot": {nil, figure}, "/v1/sampling:plot": {nil, figure},
		"/v1/groups:report": {nil, []string{"text/html", "application/json"}},
	}
	require.Len(t, document.Paths, len(kinds))
	var operations []string
	for path, kind := range kinds {
		operation, there := document.Paths[path]["post"]
		require.True(t, there, path)
		require.Equal(t, kind.consumes, operation.Consumes, path)
		require.Equal(t, kind.produces, operation.Produces, path)
		require.Contains(t, string(operation.Responses["default"].Schema), "rpcStatus", path)
		if len(kind.produces) > 1 {
			require.JSONEq(t, `{"type": "string", "format": "binary"}`, string(operation.Responses["200"].Schema), path)
		}
		operations = append(operations, operation.OperationID)
	}
	protoregistry.GlobalFiles.RangeFilesByPackage("tailbound.v1", func(file protoreflect.FileDescriptor) bool {
		for i := range file.Services().Len() {
			methods := file.Services().Get(i).Methods()
			for j := range methods.Len() {
				name := string(file.Services().Get(i).Name()) + "_" + string(methods.Get(j).Name())
				require.True(t, slices.Contains(operations, name), name)
			}
		}
		return true
	})
}
