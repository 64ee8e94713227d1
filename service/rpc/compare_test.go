package rpc

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/internal/messages"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/rpc/wire"
)

// p03 is pair P03 of testdata/reference/two_campaigns_samples.json.
func p03() *tailboundv1.CompareCampaignsRequest {
	return &tailboundv1.CompareCampaignsRequest{
		Agent: "dust", Unit: "mg/m3", Name: "kiln", Limit: &tailboundv1.Limit{Value: 4},
		Campaigns: []*tailboundv1.Campaign{
			campaignOf("a", 0.361, 0.242, 3.09, 0.927, 0.586), campaignOf("b", 1.92, 2.25, 1.38, 0.264, 0.653),
		},
	}
}

func campaignOf(name string, values ...float64) *tailboundv1.Campaign {
	c := &tailboundv1.Campaign{Name: name}
	for _, v := range values {
		c.Readings = append(c.Readings, messages.Value(v))
	}
	return c
}

// mixed is p03 with readings of every kind, a third campaign and a question about a reduction.
func mixed() *tailboundv1.CompareCampaignsRequest {
	r := p03()
	r.Reduction = new(0.25)
	r.Campaigns[1].Readings[3] = &tailboundv1.Reading{Result: &tailboundv1.Reading_Below{Below: 0.3}}
	r.Campaigns = append(r.Campaigns, campaignOf("c", 0.2, 0.4, 0.9, 0.3))
	for _, c := range r.GetCampaigns() {
		for i, reading := range c.GetReadings() {
			reading.Zone = []string{"x", "y"}[i%2]
		}
	}
	return r
}

func compared(t *testing.T, r *tailboundv1.CompareCampaignsRequest) (*tailboundv1.CompareCampaignsResponse, error) {
	t.Helper()
	return comparisonService{Server: New(Options{MaxReadings: 100})}.CompareCampaigns(context.Background(), r)
}

// Row P03 of testdata/reference/two_campaigns.csv (R 4.2.2, re-checked with 30 digits).
func TestCompareCampaigns(t *testing.T) {
	t.Parallel()
	a, err := compared(t, p03())
	require.NoError(t, err)
	c := a.GetComparisons()[0]
	require.Equal(t, "a", c.GetFrom())
	require.Equal(t, "b", c.GetTo())
	require.InEpsilon(t, 1.47612898748355, c.GetGeometricMeanRatio().GetEstimate(), 1e-9)
	require.InEpsilon(t, 0.489748504645486, c.GetGeometricMeanRatio().GetLower(), 1e-9)
	require.InEpsilon(t, 4.44913413113227, c.GetGeometricMeanRatio().GetUpper(), 1e-9)
	require.InEpsilon(t, 0.900103370835512, c.GetLogStandardDeviationRatio().GetEstimate(), 1e-9)
	require.InEpsilon(t, 0.529641573259618, c.GetPValue(), 1e-9)
	require.Less(t, c.GetPercentileRatio().GetLower(), 1.0)
	require.NotContains(t, c.GetConclusion(), "no difference")
	require.NotEmpty(t, a.GetMethods())
	require.NotEmpty(t, a.GetCaution())
}

// Each campaign is assessed as AssessGroup does, bit for bit.
func TestCampaignsAreAssessedBitForBit(t *testing.T) {
	t.Parallel()
	r := mixed()
	r.Confidence = new(0.9)
	a, err := compared(t, r)
	require.NoError(t, err)
	for i, c := range r.GetCampaigns() {
		alone, err := assessmentService{Server: New(Options{})}.AssessGroup(context.Background(), &tailboundv1.AssessGroupRequest{
			Name: c.GetName(), Agent: r.GetAgent(), Unit: r.GetUnit(), Limit: r.GetLimit(), Readings: c.GetReadings(), Confidence: r.Confidence,
		})
		require.NoError(t, err)
		require.True(t, proto.Equal(alone, a.GetCampaigns()[i]), c.GetName())
	}
}

func TestComparisonBothWays(t *testing.T) {
	t.Parallel()
	a, err := compared(t, mixed())
	require.NoError(t, err)
	require.Len(t, a.GetComparisons(), 3)
	require.NotNil(t, a.GetTrend())
	require.Len(t, a.GetComparisons()[0].GetWithinZones().GetZones(), 2)
	require.NotNil(t, a.GetComparisons()[0].GetCommonSpread())
	require.NotNil(t, a.GetComparisons()[0].ProbabilityLowerByReduction)
	require.True(t, proto.Equal(a, wire.FromComparison(wire.ToComparison(a))))
	messages.RequireFinite(t, a)
}

// Campaigns of which one says nothing of the spread are compared as far as they go, and it is said.
func TestCompareWithoutAFit(t *testing.T) {
	t.Parallel()
	below := &tailboundv1.Reading{Result: &tailboundv1.Reading_Below{Below: 0.3}}
	for _, c := range []*tailboundv1.Campaign{{Name: "c", Readings: []*tailboundv1.Reading{below, below}}, campaignOf("c", 1), campaignOf("c", 1, 1)} {
		r := p03()
		r.Campaigns[1] = c
		a, err := compared(t, r)
		require.NoError(t, err)
		require.Nil(t, a.GetComparisons()[0].ProbabilityLower)
		require.Nil(t, a.GetComparisons()[0].GetPercentileRatio())
		require.Contains(t, a.GetComparisons()[0].GetConclusion(), "Nothing can be said")
		require.Equal(t, "campaign-undetermined", a.GetNotes()[0].GetCode())
		messages.RequireFinite(t, a)
	}
}

func TestComparisonIsChecked(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		change func(*tailboundv1.CompareCampaignsRequest)
		code   fault.Code
		says   string
	}{
		"one":       {func(r *tailboundv1.CompareCampaignsRequest) { r.Campaigns = r.Campaigns[:1] }, fault.InvalidArgument, "campaigns: has 1 entries"},
		"nameless":  {func(r *tailboundv1.CompareCampaignsRequest) { r.Campaigns[1].Name = "" }, fault.InvalidArgument, "campaigns[1].name: is empty"},
		"twice":     {func(r *tailboundv1.CompareCampaignsRequest) { r.Campaigns[1].Name = "a" }, fault.InvalidArgument, "campaigns[1].name: is that of campaigns[0]"},
		"empty":     {func(r *tailboundv1.CompareCampaignsRequest) { r.Campaigns[1].Readings = nil }, fault.InvalidArgument, "campaigns[1].readings: is empty"},
		"reading":   {func(r *tailboundv1.CompareCampaignsRequest) { r.Campaigns[1].Readings[2] = messages.Value(-1) }, fault.InvalidArgument, "campaigns[1].readings[2]"},
		"reduction": {func(r *tailboundv1.CompareCampaignsRequest) { r.Reduction = new(1.0) }, fault.InvalidArgument, "reduction: is 1"},
		"units":     {func(r *tailboundv1.CompareCampaignsRequest) { r.Limit.Unit = "ppm" }, fault.InvalidArgument, "limit.unit"},
		"many": {func(r *tailboundv1.CompareCampaignsRequest) {
			r.Campaigns = append(r.Campaigns, campaignOf("c", make([]float64, 100)...))
		}, fault.TooLarge, "campaigns: have 110 readings"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := p03()
			c.change(r)
			_, err := compared(t, r)
			require.Equal(t, c.code, fault.CodeOf(err), err)
			require.ErrorContains(t, err, c.says)
		})
	}
}

func TestCompareFails(t *testing.T) {
	t.Parallel()
	failure := errors.New("no")
	s := New(Options{})
	s.compare = func(string, []reading.Group, float64, assess.Options) (*report.Comparison, error) {
		return nil, failure
	}
	_, err := comparisonService{Server: s}.CompareCampaigns(context.Background(), p03())
	require.ErrorIs(t, err, failure)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = comparisonService{Server: s}.CompareCampaigns(ctx, p03())
	require.ErrorIs(t, err, context.Canceled)
}

// Whatever sound readings come, nothing that is not finite leaves, and no pair takes long.
func TestComparisonOfExtremes(t *testing.T) {
	t.Parallel()
	other := func(results ...*tailboundv1.Reading) *tailboundv1.Campaign {
		return &tailboundv1.Campaign{Readings: results}
	}
	below, above := &tailboundv1.Reading{Result: &tailboundv1.Reading_Below{Below: 1e-3}}, &tailboundv1.Reading{Result: &tailboundv1.Reading_Above{Above: 10}}
	band := &tailboundv1.Reading{Result: &tailboundv1.Reading_Between{Between: &tailboundv1.Interval{Lower: 1, Upper: 2}}}
	extremes := []*tailboundv1.Campaign{
		campaignOf("", 1e-300, 1e300), campaignOf("", 1, 1.0000000001), campaignOf("", 5), campaignOf("", 2, 2, 2), campaignOf("", 1, 3, 2, 7, 1.5),
		other(below, below, above), other(messages.Value(1), messages.Value(1), below), other(messages.Value(1), band, above), other(band, band), other(above, messages.Value(3), messages.Value(4)),
	}
	for i, a := range extremes {
		for _, b := range extremes[i:] {
			r := p03()
			r.Campaigns = []*tailboundv1.Campaign{{Name: "a", Readings: a.GetReadings()}, {Name: "b", Readings: b.GetReadings()}}
			answer, err := compared(t, r)
			require.NoError(t, err)
			messages.RequireFinite(t, answer)
			require.NotEmpty(t, answer.GetComparisons()[0].GetConclusion())
			require.NotContains(t, answer.GetComparisons()[0].GetConclusion(), "NaN")
		}
	}
}
