package rpc

import (
	"testing"

	"google.golang.org/protobuf/proto"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/internal/messages"
	"example.com/tailbound/service/rpc/wire"
)

// FuzzAnswer holds the whole way from the bytes of a request to an answer to one promise: finite numbers, or an error that
// is the caller's to read.
func FuzzAnswer(f *testing.F) {
	group, options := messages.FullGroup()
	bad := messages.Sound()
	bad.Bands, bad.Percentile = []float64{0.5, 0.2}, new(2.0)
	for _, seed := range []*tailboundv1.AssessGroupRequest{wire.FromGroup(group, options), messages.Sound(), dozen(3), bad, {}} {
		data, err := proto.Marshal(seed)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	s := New(Options{MaxReadings: 200})
	f.Fuzz(func(t *testing.T, data []byte) {
		var r tailboundv1.AssessGroupRequest
		if proto.Unmarshal(data, &r) != nil {
			return
		}
		answer, err := s.answer(&r)
		if err != nil {
			if fault.CodeOf(err) == fault.Internal {
				t.Fatalf("%v: %v", err, unwrap(err))
			}
			return
		}
		messages.RequireFinite(t, answer)
	})
}
