package rpc

import (
	"testing"

	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/internal/messages"
)

// anyReading has any kind of result; values are as frequent as the others together.
func anyReading(t *rapid.T, v float64) *tailboundv1.Reading {
	switch rapid.IntRange(0, 5).Draw(t, "kind") {
	case 0:
		return &tailboundv1.Reading{Result: &tailboundv1.Reading_Below{Below: v}}
	case 1:
		return &tailboundv1.Reading{Result: &tailboundv1.Reading_Above{Above: v}}
	case 2:
		return &tailboundv1.Reading{Result: &tailboundv1.Reading_Between{Between: &tailboundv1.Interval{Lower: v * 0.5, Upper: v}}}
	default:
		return messages.Value(v)
	}
}

// TestAnyRequestIsAnswered draws groups of any size of number, with ties, at any percentile and confidence. Each gets an
// answer of finite numbers or an error that is the caller's to read, and the order of the readings changes no bit of it.
func TestAnyRequestIsAnswered(t *testing.T) {
	t.Parallel()
	s := New(Options{})
	number := rapid.OneOf(
		rapid.Float64Range(0.01, 10), rapid.Float64Range(1e-300, 1e300), rapid.SampledFrom([]float64{1, 1, 1 + 0x1p-52, 0x1p-1022, 1.7e308}))
	rapid.Check(t, func(t *rapid.T) {
		r := &tailboundv1.AssessGroupRequest{
			Percentile: new(rapid.Float64Range(0.5, 0.999).Draw(t, "percentile")),
			Confidence: new(rapid.Float64Range(0.5, 0.9999).Draw(t, "confidence")),
		}
		r.Curves = rapid.Bool().Draw(t, "curves")
		if rapid.Bool().Draw(t, "judged") {
			r.Limit = &tailboundv1.Limit{Value: number.Draw(t, "limit")}
		}
		for _, v := range rapid.SliceOfN(number, 1, 30).Draw(t, "values") {
			r.Readings = append(r.Readings, anyReading(t, v))
		}
		answer, err := s.answer(r)
		if err != nil {
			if fault.CodeOf(err) == fault.Internal {
				t.Fatalf("%v: %v", err, unwrap(err))
			}
			return
		}
		messages.RequireFinite(t, answer)
		r.Readings = rapid.Permutation(r.GetReadings()).Draw(t, "order")
		again, err := s.answer(r)
		if err != nil || !proto.Equal(answer, again) {
			t.Fatalf("another order, another answer: %v\n%v\n%v", err, answer, again)
		}
	})
}
