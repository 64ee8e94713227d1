package request

import (
	"encoding/hex"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/internal/messages"
	"example.com/tailbound/service/rpc/wire"
)

// The canonical form has every field, as protobuf reads it, and no unknown one.
func TestCanonicalForm(t *testing.T) {
	t.Parallel()
	group, options := messages.FullGroup()
	full := wire.FromGroup(group, options)
	full.AcceptDependent, full.Bands = true, []float64{0.1, 0.5, 1}
	full.Readings[0].Start = timestamppb.New(time.Date(1969, 12, 31, 0, 0, 0, 5, time.UTC))
	priors := []*tailboundv1.Prior{
		nil,
		{Kind: &tailboundv1.Prior_Reference{Reference: &tailboundv1.ReferencePrior{}}},
		{Kind: &tailboundv1.Prior_Carried{Carried: &tailboundv1.CarriedPrior{Readings: full.GetReadings(), Weight: 0.5}}},
	}
	seen := map[string]bool{}
	for _, prior := range priors {
		full.Prior = prior
		request := &tailboundv1.RenderReportRequest{Groups: []*tailboundv1.AssessGroupRequest{full, {}, messages.Sound()}, Title: "t", Language: "en"}
		canonical := appendCanonical(nil, request.ProtoReflect())
		require.Len(t, canonical, proto.Size(request))
		var back tailboundv1.RenderReportRequest
		require.NoError(t, proto.Unmarshal(canonical, &back))
		require.True(t, proto.Equal(request, &back))

		before := Digest(request)
		require.Len(t, before, 64)
		require.False(t, seen[before])
		seen[before] = true
		request.ProtoReflect().SetUnknown(protowire.AppendVarint(protowire.AppendTag(nil, 999, protowire.VarintType), 1))
		require.Equal(t, before, Digest(request))
	}
}

// The bytes and the digest were put together by hand in Python, from the description of the encoding at protobuf.dev, with struct
// and hashlib: so does whoever wants to check a report.
func TestDigestByHand(t *testing.T) {
	t.Parallel()
	reading := messages.Value(0.5)
	reading.Zone = "z"
	request := &tailboundv1.RenderReportRequest{Title: "t", Groups: []*tailboundv1.AssessGroupRequest{{
		Readings: []*tailboundv1.Reading{reading}, Unit: "mg/m3", Rule: tailboundv1.Rule_RULE_EN689, Bands: []float64{0.5, 1}, Curves: true,
	}}}
	require.Equal(t, "0a2c0a0c09000000000000e03f2a017a12056d672f6d3340015a10000000000000e03f000000000000f03f880101120174", hex.EncodeToString(appendCanonical(nil, request.ProtoReflect())))
	require.Equal(t, "f0cd8ce585e6b1bb0f683d21668b8eee70b5594c3dc8a3a6871c2039daccdf22", Digest(request))
}
