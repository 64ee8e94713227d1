package rest

import (
	"context"
	"net/http"

	"google.golang.org/protobuf/proto"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// documentOf returns the document that an answer is, nil when it is none. Over REST it is answered as it is, without JSON around it.
func documentOf(answer any) *tailboundv1.Document {
	if d, ok := answer.(interface{ GetDocument() *tailboundv1.Document }); ok {
		return d.GetDocument()
	}
	return nil
}

// unsniffed tells a browser to take a document for what it is said to be.
func unsniffed(w http.ResponseWriter) { w.Header().Set("X-Content-Type-Options", "nosniff") }

// forward is unsniffed for the documents that the gateway writes.
func forward(_ context.Context, w http.ResponseWriter, answer proto.Message) error {
	if documentOf(answer) != nil {
		unsniffed(w)
	}
	return nil
}
