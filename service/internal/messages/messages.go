// Package messages holds the messages that tests of several packages send, and what holds for every message that leaves the service.
package messages

import (
	"math"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/decision"
	"example.com/tailbound/service/reading"
)

// Value is a reading with a value.
func Value(v float64) *tailboundv1.Reading {
	return &tailboundv1.Reading{Result: &tailboundv1.Reading_Value{Value: v}}
}

// Sound is a request that can be answered.
func Sound() *tailboundv1.AssessGroupRequest {
	return &tailboundv1.AssessGroupRequest{
		Readings: []*tailboundv1.Reading{Value(1), Value(2), Value(3)}, Unit: "mg/m3", Limit: &tailboundv1.Limit{Value: 5},
	}
}

// FullGroup has every kind of reading and every field set.
func FullGroup() (reading.Group, assess.Options) {
	detected := reading.At(0.12)
	detected.Zone, detected.Subject, detected.Campaign, detected.ID = "hall 2", "operator A", "autumn", "s-17"
	detected.Start, detected.Duration = time.Date(2026, 3, 4, 6, 0, 0, 123, time.UTC), 8*time.Hour
	g := reading.Group{
		Name: "welders", Agent: "manganese", Unit: "mg/m3", Limit: &reading.Limit{Value: 200, Unit: "ug/m3"},
		Readings: []reading.Reading{detected, reading.Under(0.05), reading.Over(50), reading.Within(0, 0.1), reading.Within(0.05, 0.1)},
	}
	return g, assess.Options{
		Percentile: 0.9, Confidence: 0.7, Rule: decision.UpperLimit95, Bands: []float64{0.5, 1}, RelativeError: 0.1, Calibrated: true,
		Shifts: reading.Shifts{DayHours: 10, WeekHours: 48}, ReassessWithin: 6, Curves: true,
	}
}

// RequireFinite fails a test where a double of a message is NaN or infinite.
func RequireFinite(t require.TestingT, m proto.Message) {
	eachDouble(m.ProtoReflect(), func(path string, v float64) {
		require.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%s is %v", path, v)
	})
}

// eachDouble visits every double of a message.
func eachDouble(m protoreflect.Message, visit func(path string, v float64)) {
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		switch {
		case f.IsList() && f.Kind() == protoreflect.MessageKind:
			for i := range v.List().Len() {
				eachDouble(v.List().Get(i).Message(), visit)
			}
		case f.Kind() == protoreflect.MessageKind && !f.IsMap():
			eachDouble(v.Message(), visit)
		case f.Kind() == protoreflect.DoubleKind && !f.IsList():
			visit(string(f.FullName()), v.Float())
		}
		return true
	})
}
