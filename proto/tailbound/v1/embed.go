// Package tailboundv1 is the contract of the service: messages, stubs, the HTTP mapping and the OpenAPI document.
// Everything but this file is generated from the .proto files beside it; DEVELOPERS.md says how.
package tailboundv1

import _ "embed"

// OpenAPI is the OpenAPI 2.0 document of the REST face, as JSON.
//
//go:embed openapi.swagger.json
var OpenAPI []byte
