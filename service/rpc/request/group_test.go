package request

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/internal/messages"
)

func between(lower, upper float64) *tailboundv1.Reading {
	return &tailboundv1.Reading{Result: &tailboundv1.Reading_Between{Between: &tailboundv1.Interval{Lower: lower, Upper: upper}}}
}

// TestCheckGroup changes one thing of a sound request and names the fields that must be blamed. The ranges are those of the
// comments in assessment.proto and reading.proto.
func TestCheckGroup(t *testing.T) {
	t.Parallel()
	nan := math.NaN()
	long := strings.Repeat("é", 200)
	for _, c := range []struct {
		name   string
		change func(*tailboundv1.AssessGroupRequest)
		fields []string
	}{
		{"sound", func(*tailboundv1.AssessGroupRequest) {}, nil},
		{"no readings", func(r *tailboundv1.AssessGroupRequest) { r.Readings = nil }, []string{"readings"}},
		{"no result", func(r *tailboundv1.AssessGroupRequest) { r.Readings[1] = &tailboundv1.Reading{} }, []string{"readings[1]"}},
		{"zero", func(r *tailboundv1.AssessGroupRequest) { r.Readings[2] = messages.Value(0) }, []string{"readings[2].value"}},
		{"NaN", func(r *tailboundv1.AssessGroupRequest) { r.Readings[0] = messages.Value(nan) }, []string{"readings[0].value"}},
		{"infinite", func(r *tailboundv1.AssessGroupRequest) { r.Readings[0] = messages.Value(math.Inf(1)) }, []string{"readings[0].value"}},
		{"negative and below", func(r *tailboundv1.AssessGroupRequest) {
			r.Readings[0] = &tailboundv1.Reading{Result: &tailboundv1.Reading_Below{Below: -1}}
			r.Readings[1] = &tailboundv1.Reading{Result: &tailboundv1.Reading_Above{Above: nan}}
		}, []string{"readings[0].below", "readings[1].above"}},
		{"bounds", func(r *tailboundv1.AssessGroupRequest) {
			r.Readings = []*tailboundv1.Reading{between(-1, 2), between(2, 2), between(0, nan), {Result: &tailboundv1.Reading_Between{}}}
		}, []string{"readings[0].between.lower", "readings[1].between.upper", "readings[2].between.upper", "readings[3].between.upper"}},
		{"texts", func(r *tailboundv1.AssessGroupRequest) {
			r.Name, r.Agent, r.Unit = long+"x", "\xff", strings.Repeat("m", 33)
			r.Readings[0].Zone, r.Readings[0].Subject, r.Readings[0].Campaign, r.Readings[0].Id = long+"x", long+"x", long+"x", "\xff"
		}, []string{"name", "agent", "unit", "readings[0].zone", "readings[0].subject", "readings[0].campaign", "readings[0].id"}},
		{"remarks", func(r *tailboundv1.AssessGroupRequest) {
			r.Remarks = []string{"1 row was left out.", strings.Repeat("é", 501)}
		}, []string{"remarks[1]"}},
		{"many remarks", func(r *tailboundv1.AssessGroupRequest) { r.Remarks = make([]string, 21) }, []string{"remarks"}},
		{"longest text", func(r *tailboundv1.AssessGroupRequest) { r.Name = long }, nil},
		{"times", func(r *tailboundv1.AssessGroupRequest) {
			r.Readings[0].Start, r.Readings[0].Duration = &timestamppb.Timestamp{Nanos: -1}, &durationpb.Duration{}
			r.Readings[1].Duration = &durationpb.Duration{Seconds: 1, Nanos: -1}
		}, []string{"readings[0].start", "readings[0].duration", "readings[1].duration"}},
		{"limit", func(r *tailboundv1.AssessGroupRequest) {
			r.Limit = &tailboundv1.Limit{Value: 0, Unit: strings.Repeat("m", 33)}
		}, []string{"limit.value", "limit.unit"}},
		{"infinite limit", func(r *tailboundv1.AssessGroupRequest) { r.Limit.Value = math.Inf(1) }, []string{"limit.value"}},
		{"no limit", func(r *tailboundv1.AssessGroupRequest) { r.Limit = nil }, nil},
		{"lowest fractions", func(r *tailboundv1.AssessGroupRequest) { r.Percentile, r.Confidence = new(0.5), new(0.5) }, nil},
		{"highest fractions", func(r *tailboundv1.AssessGroupRequest) { r.Percentile, r.Confidence = new(0.999), new(0.9999) }, nil},
		{"fractions too low", func(r *tailboundv1.AssessGroupRequest) {
			r.Percentile, r.Confidence, r.RelativeError = new(0.4999), new(0.0), new(-0.1)
		}, []string{"percentile", "confidence", "relativeError"}},
		{"fractions too high", func(r *tailboundv1.AssessGroupRequest) {
			r.Percentile, r.Confidence, r.RelativeError = new(0.9991), new(95.0), new(1.1)
		}, []string{"percentile", "confidence", "relativeError"}},
		{"fractions not numbers", func(r *tailboundv1.AssessGroupRequest) { r.Percentile, r.Confidence = &nan, &nan }, []string{"percentile", "confidence"}},
		{"longest shifts", func(r *tailboundv1.AssessGroupRequest) {
			r.ShiftHours, r.WeekHours, r.ReassessWithinMonths = new(23.0), new(160.0), new(int32(120))
		}, nil},
		{"shifts too short", func(r *tailboundv1.AssessGroupRequest) {
			r.ShiftHours, r.WeekHours, r.ReassessWithinMonths = new(0.0), new(39.9), new(int32(0))
		}, []string{"shiftHours", "weekHours", "reassessWithinMonths"}},
		{"shifts too long", func(r *tailboundv1.AssessGroupRequest) {
			r.ShiftHours, r.WeekHours, r.ReassessWithinMonths = &nan, new(168.0), new(int32(121))
		}, []string{"shiftHours", "weekHours", "reassessWithinMonths"}},
		{"no such enumeration", func(r *tailboundv1.AssessGroupRequest) { r.Rule, r.LimitMethod = 99, -1 }, []string{"rule", "limitMethod"}},
		{"bands", func(r *tailboundv1.AssessGroupRequest) { r.Bands = []float64{0.1, 0.1, -1, nan, math.Inf(1)} }, []string{
			"bands[1]", "bands[2]", "bands[3]", "bands[4]",
		}},
		{"too many bands", func(r *tailboundv1.AssessGroupRequest) { r.Bands = make([]float64, 21) }, []string{"bands"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r := messages.Sound()
			c.change(r)
			err := CheckGroup(r, 10)
			if len(c.fields) == 0 {
				require.NoError(t, err)
				return
			}
			var f *fault.Error
			require.ErrorAs(t, err, &f)
			require.Equal(t, fault.InvalidArgument, f.Code)
			var fields []string
			for _, v := range f.Violations {
				fields = append(fields, v.Field)
				require.NotEmpty(t, v.Text)
			}
			require.Equal(t, c.fields, fields)
		})
	}
}

func TestCheckGroupStopsLooking(t *testing.T) {
	t.Parallel()
	r := messages.Sound()
	for range 100 {
		r.Readings = append(r.Readings, messages.Value(-1))
	}
	var f *fault.Error
	require.ErrorAs(t, CheckGroup(r, 0), &f)
	require.Len(t, f.Violations, 20)
}

func TestCheckGroupTooManyReadings(t *testing.T) {
	t.Parallel()
	var f *fault.Error
	require.ErrorAs(t, CheckGroup(messages.Sound(), 2), &f)
	require.Equal(t, fault.TooLarge, f.Code)
	require.Equal(t, []fault.Violation{{Field: "readings", Text: "has 3 entries; this server takes at most 2, those of the prior included"}}, f.Violations)
}

// TestPriorsAreChecked: each prior is taken when sound, and refused by the path of the field at fault.
func TestPriorsAreChecked(t *testing.T) {
	t.Parallel()
	type request = tailboundv1.AssessGroupRequest
	for _, c := range []struct {
		field  string
		change func(*request)
	}{
		{"", func(r *request) {
			r.Prior = &tailboundv1.Prior{Kind: &tailboundv1.Prior_Reference{Reference: &tailboundv1.ReferencePrior{}}}
			r.LimitMethod, r.RelativeError, r.Rule = tailboundv1.LimitMethod_LIMIT_METHOD_POSTERIOR, new(0.0), tailboundv1.Rule_RULE_EN689
		}},
		{"", func(r *request) { r.Prior = &tailboundv1.Prior{} }},
		{"", func(r *request) { r.LimitMethod = tailboundv1.LimitMethod_LIMIT_METHOD_CALIBRATED }},
		{"", func(r *request) { r.RelativeError = new(0.1) }},
		{"limitMethod", func(r *request) {
			r.LimitMethod, r.RelativeError = tailboundv1.LimitMethod_LIMIT_METHOD_CALIBRATED, new(0.1)
		}},
		{"prior.bounded.geometricMeanLower", func(r *request) { r.Prior = &tailboundv1.Prior{Kind: &tailboundv1.Prior_Bounded{}} }},
		{"prior.informed.geometricMean", func(r *request) { r.Prior = &tailboundv1.Prior{Kind: &tailboundv1.Prior_Informed{}} }},
		{"prior.carried.readings[0].value", func(r *request) {
			r.Prior = &tailboundv1.Prior{Kind: &tailboundv1.Prior_Carried{Carried: &tailboundv1.CarriedPrior{
				Readings: []*tailboundv1.Reading{messages.Value(0)}, Weight: 0.5,
			}}}
		}},
		{"prior.carried.weight", func(r *request) {
			r.Prior = &tailboundv1.Prior{Kind: &tailboundv1.Prior_Carried{Carried: &tailboundv1.CarriedPrior{
				Readings: []*tailboundv1.Reading{messages.Value(1)}, Weight: 1.5,
			}}}
		}},
	} {
		t.Run(c.field, func(t *testing.T) {
			t.Parallel()
			r := messages.Sound()
			c.change(r)
			err := CheckGroup(r, 0)
			if c.field == "" {
				require.NoError(t, err)
				return
			}
			require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
			require.True(t, strings.HasPrefix(err.Error(), c.field+": "), err.Error())
		})
	}
}

// TestRefuseRules walks every rule of the contract: it is either supported or refused by name.
func TestRefuseRules(t *testing.T) {
	t.Parallel()
	supported := 0
	for n, name := range tailboundv1.Rule_name {
		r := messages.Sound()
		r.Rule = tailboundv1.Rule(n)
		err := CheckGroup(r, 0)
		if err == nil {
			supported++
			continue
		}
		require.Equal(t, fault.Unsupported, fault.CodeOf(err))
		require.Contains(t, err.Error(), "rule: "+name+" is part of the contract")
		require.Contains(t, err.Error(), "accepted is RULE_EN689")
	}
	require.GreaterOrEqual(t, supported, 3, "the default and at least two rules")
}

func TestViolationsJoin(t *testing.T) {
	t.Parallel()
	var v violations
	v.join(errors.New("plain"))
	v.join(fault.Invalid("value", "is %d", 0))
	require.Equal(t, violations{{Text: "plain"}, {Field: "value", Text: "is 0"}}, v)
}
