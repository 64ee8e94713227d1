package service_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service"
)

// Requests in which every field is set that a wrong value could be put into.
const (
	hostileGroup = `{"readings": [{"value": 1, "start": "2026-03-02T07:30:00Z", "duration": "28800s", "zone": "a"}, {"between": {"lower": 1, "upper": 2}},
		{"below": 0.5}, {"above": 3}, {"value": 2}, {"value": 3}], "unit": "mg/m3", "limit": {"value": 20, "unit": "mg/m3"}, "percentile": 0.95, "confidence": 0.95,
		"bands": [0.1, 0.5], "relativeError": 0.1, "shiftHours": 10, "weekHours": 48, "reassessWithinMonths": 12, "rule": "RULE_UPPER_LIMIT_95_95",
		"limitMethod": "LIMIT_METHOD_POSTERIOR", "curves": true, "remarks": ["as found"], "prior": {"bounded":
		{"geometricMeanLower": 0.01, "geometricMeanUpper": 100, "geometricStandardDeviationLower": 1.1, "geometricStandardDeviationUpper": 8}}}`
	hostilePartition = `{"readings": [{"value": 1, "zone": "a"}, {"value": 2, "zone": "a"}, {"value": 3, "zone": "b"}, {"value": 1.5, "zone": "b"}], "unit": "ppm"}`
	hostileInformed  = `{"readings": [{"value": 1}, {"value": 2}, {"value": 3}], "limit": {"value": 20}, "prior": {"informed": {"geometricMean": 2,
		"geometricMeanFactor": 3, "geometricStandardDeviation": 2, "geometricStandardDeviationFactor": 1.5}}}`
	hostileCarried = `{"readings": [{"value": 1}, {"value": 2}, {"value": 3}], "limit": {"value": 20}, "prior": {"carried": {"weight": 0.5,
		"readings": [{"value": 1, "start": "2025-03-02T07:30:00Z"}, {"value": 2}]}}}`
	hostileComparison = `{"campaigns": [{"name": "a", "readings": [{"value": 1}, {"value": 2}, {"value": 3}]}, {"name": "b", "readings": [{"value": 1},
		{"value": 1.5}, {"value": 0.5}]}], "unit": "ppm", "limit": {"value": 9}, "percentile": 0.95, "confidence": 0.95, "reduction": 0.2}`
	hostilePlan = `{"rule": "RULE_UPPER_LIMIT_95_95", "limit": {"value": 1}, "geometricMean": 0.1, "geometricStandardDeviation": 2, "samplesLower": 6, "samplesUpper": 8,
		"power": 0.8, "aim": "PLAN_AIM_COMPLIANT", "highest": {"groupSize": 10, "fraction": 0.1, "confidence": 0.9},
		"grid": {"percentileToLimit": [0.5], "geometricStandardDeviation": [2]}}`
	hostilePlanSoFar = `{"limit": {"value": 1}, "samplesUpper": 8, "readings": [{"value": 0.1}, {"value": 0.2}, {"value": 0.3}], "unit": "ppm"}`
	hostileDecay     = `{"times": ["2026-03-09T18:00:00Z", "2026-03-09T18:30:00Z", "2026-03-09T19:00:00Z", "2026-03-09T19:30:00Z"], "values": [1420, 930, 670, 540],
		"background": 420, "unit": "ppm", "confidence": 0.95, "zone": "room 12"}`
	hostileTrace = `{"channels": [{"agent": "carbon monoxide", "unit": "ppm", "detectionLimit": 1, "fullScale": 500, "resultUnit": "mg/m3", "molarMass": 28.01,
		"level": 30, "particleSizes": {"lower": 0.1, "upper": 10}, "fraction": "PARTICLE_FRACTION_RESPIRABLE", "calibration": {"gas": 50,
		"before": {"time": "2026-03-09T05:00:00Z", "zero": 0, "span": 50}, "after": {"time": "2026-03-09T15:00:00Z", "zero": 0, "span": 48}, "tolerance": 0.1}}],
		"zone": "bay 3", "averagingPeriod": "60s", "warmUp": "1s", "coverage": 0.5, "interval": "60s", "sessionGap": "3600s", "clockJumps": [{"row": "2", "ahead": "1s"}],
		"base": {"length": "28800s", "gaps": "UNSAMPLED_TIME_ZERO", "outside": "UNSAMPLED_TIME_ZERO"}, "temperature": 20, "pressure": 100,
		"periodOrigin": "2026-03-09T00:00:00Z", "withinPeriod": true}`
	hostileTasks = `{"channels": [{"agent": "dust", "unit": "mg/m3"}], "tasks": [{"name": "filling", "start": "2026-03-09T06:00:00Z", "length": "60s"}]}`
	hostileRows  = `{"times": ["2026-03-09T06:00:00Z", "2026-03-09T06:01:00Z", "2026-03-09T06:02:00Z"], "values": [10, 20, 30]}`
	hostileFile  = `"name": "file.csv", "format": {"encoding": "utf-8", "delimiter": ",", "decimalMark": ".", "dateOrder": "year-month-day", "timeZone": "UTC"}`
)

// hostileCalls has at least one request, or run of requests, for every method of the contract.
func hostileCalls() map[string][][]string {
	v1 := "/tailbound.v1."
	wrap := func(before, after string, parts ...string) (out [][]string) {
		for _, part := range parts {
			out = append(out, []string{before + part + after})
		}
		return out
	}
	groups := []string{hostileGroup, hostileInformed, hostileCarried}
	return map[string][][]string{
		v1 + "AssessmentService/AssessGroup":      wrap("", "", groups...),
		v1 + "AssessmentService/AssessGroups":     nil, // Its errors are answers; the group is that of AssessGroup.
		v1 + "AssessmentService/PartitionGroup":   wrap("", "", hostilePartition),
		v1 + "ComparisonService/CompareCampaigns": wrap("", "", hostileComparison),
		v1 + "PlanningService/PlanSampling":       wrap("", "", hostilePlan, hostilePlanSoFar),
		v1 + "TraceService/EstimateAirChange":     wrap("", "", hostileDecay),
		v1 + "TraceService/ReduceTrace": {
			{`{"header": ` + hostileTrace + `}`, `{"values": ` + hostileRows + `}`}, {`{"header": ` + hostileTasks + `}`, `{"values": ` + hostileRows + `}`},
		},
		v1 + "ReportService/PlotTrace":     {{`{"header": {"trace": ` + hostileTrace + `}}`, `{"values": ` + hostileRows + `}`}},
		v1 + "ReportService/PlotGroup":     wrap(`{"group": `, `}`, hostileInformed),
		v1 + "ReportService/PlotCampaigns": wrap(`{"comparison": `, `}`, hostileComparison),
		v1 + "ReportService/PlotSampling":  wrap(`{"plan": `, `}`, hostilePlanSoFar),
		v1 + "ReportService/RenderReport":  wrap(`{"groups": [`, `], "title": "t", "language": "en"}`, hostileGroup),
		v1 + "IntakeService/ReadResults":   {{`{"content": "em9uZSxhZ2VudCxyZXN1bHQsdW5pdApiYXkscWFydHosMSxtZy9tMwo=", "columns": {"zone": "zone"}, "groupBy": ["zone"], "unit": "mg/m3",` + hostileFile + `}`}},
		v1 + "IntakeService/ReadLog":       {{`{"content": "dGltZSxDTyAocHBtKQoyMDI2LTAzLTA5VDA2OjAwOjAwWiwxCg==", "timeColumn": "time",` + hostileFile + `}`}},
	}
}

// eachMethod calls f for every method of the contract.
func eachMethod(f func(protoreflect.MethodDescriptor)) {
	protoregistry.GlobalFiles.RangeFilesByPackage("tailbound.v1", func(file protoreflect.FileDescriptor) bool {
		for i := range file.Services().Len() {
			methods := file.Services().Get(i).Methods()
			for j := range methods.Len() {
				f(methods.Get(j))
			}
		}
		return true
	})
}

func newMessage(t *testing.T, d protoreflect.MessageDescriptor) proto.Message {
	t.Helper()
	kind, err := protoregistry.GlobalTypes.FindMessageByName(d.FullName())
	require.NoError(t, err)
	return kind.New().Interface()
}

// ask makes one call of any kind of method with one message after the other.
func ask(ctx context.Context, conn grpc.ClientConnInterface, method string, streams bool, questions []proto.Message, answer proto.Message) error {
	if !streams {
		return conn.Invoke(ctx, method, questions[0], answer)
	}
	stream, err := conn.NewStream(ctx, &grpc.StreamDesc{ClientStreams: true}, method)
	if err != nil {
		return err
	}
	for _, q := range questions {
		if stream.SendMsg(q) != nil {
			break // The answer says why.
		}
	}
	if err := stream.CloseSend(); err != nil {
		return err
	}
	return stream.RecvMsg(answer)
}

// leaf is a place for a value in a message.
type leaf struct {
	path  string
	field protoreflect.FieldDescriptor
	value protoreflect.Value
	set   func(protoreflect.Value)
}

// leaves are the places of every value that is set, in the order of the fields, and those of times and lengths of time as a whole.
func leaves(m protoreflect.Message, under string) (out []leaf) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		if !m.Has(f) || f.IsMap() {
			continue
		}
		path := strings.TrimPrefix(under+"."+f.JSONName(), ".")
		if !f.IsList() {
			out = append(out, valueLeaves(f, m.Get(f), path, func(v protoreflect.Value) { m.Set(f, v) })...)
			continue
		}
		list := m.Get(f).List()
		for j := range list.Len() {
			at := fmt.Sprintf("%s[%d]", path, j)
			out = append(out, valueLeaves(f, list.Get(j), at, func(v protoreflect.Value) { list.Set(j, v) })...)
		}
	}
	return out
}

func valueLeaves(f protoreflect.FieldDescriptor, v protoreflect.Value, path string, set func(protoreflect.Value)) []leaf {
	if f.Kind() == protoreflect.MessageKind && f.Message().ParentFile().Package() == "tailbound.v1" {
		return leaves(v.Message(), path)
	}
	return []leaf{{path, f, v, set}}
}

// hostileValues are values that no field of the kind takes.
func hostileValues(f protoreflect.FieldDescriptor) []protoreflect.Value {
	switch f.Kind() {
	case protoreflect.DoubleKind:
		return []protoreflect.Value{
			protoreflect.ValueOfFloat64(math.NaN()), protoreflect.ValueOfFloat64(math.Inf(1)), protoreflect.ValueOfFloat64(math.Inf(-1)),
		}
	case protoreflect.EnumKind:
		return []protoreflect.Value{protoreflect.ValueOfEnum(999), protoreflect.ValueOfEnum(-1)}
	case protoreflect.StringKind:
		return []protoreflect.Value{protoreflect.ValueOfString(strings.Repeat("é", 501))}
	case protoreflect.MessageKind:
		if f.Message().FullName() == "google.protobuf.Timestamp" {
			return []protoreflect.Value{
				protoreflect.ValueOfMessage((&timestamppb.Timestamp{Seconds: math.MaxInt64}).ProtoReflect()),
				protoreflect.ValueOfMessage((&timestamppb.Timestamp{Nanos: -1}).ProtoReflect()),
			}
		}
		return []protoreflect.Value{
			protoreflect.ValueOfMessage((&durationpb.Duration{Seconds: math.MinInt64}).ProtoReflect()),
			protoreflect.ValueOfMessage((&durationpb.Duration{Seconds: 1, Nanos: -1}).ProtoReflect()),
		}
	default:
		return nil
	}
}

// extremeValues may or may not be taken, but must never break anything.
func extremeValues(f protoreflect.FieldDescriptor) []protoreflect.Value {
	switch f.Kind() {
	case protoreflect.Int32Kind:
		return []protoreflect.Value{protoreflect.ValueOfInt32(math.MinInt32), protoreflect.ValueOfInt32(0), protoreflect.ValueOfInt32(math.MaxInt32)}
	case protoreflect.Int64Kind:
		return []protoreflect.Value{protoreflect.ValueOfInt64(math.MinInt64), protoreflect.ValueOfInt64(math.MaxInt64)}
	case protoreflect.DoubleKind:
		return []protoreflect.Value{protoreflect.ValueOfFloat64(math.MaxFloat64), protoreflect.ValueOfFloat64(5e-324)}
	case protoreflect.StringKind:
		return []protoreflect.Value{protoreflect.ValueOfString(""), protoreflect.ValueOfString("a\x00b\n<script>")}
	case protoreflect.BytesKind:
		return []protoreflect.Value{protoreflect.ValueOfBytes(nil), protoreflect.ValueOfBytes([]byte("\xff\xfe\x00\xd8,\x00"))}
	case protoreflect.MessageKind:
		if f.Message().FullName() == "google.protobuf.Timestamp" {
			return []protoreflect.Value{
				protoreflect.ValueOfMessage((&timestamppb.Timestamp{Seconds: -62135596800}).ProtoReflect()),
				protoreflect.ValueOfMessage((&timestamppb.Timestamp{Seconds: 253402300799}).ProtoReflect()),
			}
		}
		return []protoreflect.Value{
			protoreflect.ValueOfMessage((&durationpb.Duration{Seconds: 315576000000}).ProtoReflect()),
			protoreflect.ValueOfMessage((&durationpb.Duration{Nanos: 1}).ProtoReflect()),
		}
	default:
		return nil
	}
}

// hostile puts one value of each kind into each field of each request in turn and hands on what became of the call.
func hostile(
	t *testing.T, values func(protoreflect.FieldDescriptor) []protoreflect.Value, judge func(name, path string, v protoreflect.Value, answer proto.Message, err error),
) {
	t.Helper()
	if testing.Short() {
		t.Skip("a thousand calls")
	}
	conn, stop, err := service.Embedded(service.DefaultOptions())
	require.NoError(t, err)
	defer func() { require.NoError(t, stop()) }()
	calls := hostileCalls()
	eachMethod(func(m protoreflect.MethodDescriptor) {
		name := "/" + string(m.Parent().FullName()) + "/" + string(m.Name())
		require.Contains(t, calls, name, "a call of the contract that nobody attacks")
		for _, texts := range calls[name] {
			call := func(part, at int, v *protoreflect.Value) (string, proto.Message, error) {
				questions, path := make([]proto.Message, len(texts)), ""
				for i, text := range texts {
					questions[i] = newMessage(t, m.Input())
					require.NoError(t, protojson.Unmarshal([]byte(text), questions[i]), text)
				}
				if v != nil {
					place := leaves(questions[part].ProtoReflect(), "")[at]
					path = place.path
					place.set(*v)
				}
				answer := newMessage(t, m.Output())
				ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
				defer cancel()
				return path, answer, ask(ctx, conn, name, m.IsStreamingClient(), questions, answer)
			}
			_, _, err := call(0, 0, nil)
			require.NoError(t, err, name)
			for part, text := range texts {
				whole := newMessage(t, m.Input())
				require.NoError(t, protojson.Unmarshal([]byte(text), whole))
				for at, place := range leaves(whole.ProtoReflect(), "") {
					for _, v := range values(place.field) {
						path, answer, err := call(part, at, &v)
						judge(name, path, v, answer, err)
					}
				}
			}
		}
	})
}

// TestWhatIsWrongIsNamed: every field of every request refuses what it cannot take, and says which field it was. A report tells of
// a group that cannot be assessed on its page, and a logged value may be NaN, no reading.
func TestWhatIsWrongIsNamed(t *testing.T) {
	t.Parallel()
	hostile(t, hostileValues, func(name, path string, v protoreflect.Value, answer proto.Message, err error) {
		what := fmt.Sprintf("%s %s = %.40v", name, path, v)
		if f, ok := v.Interface().(float64); ok && math.IsNaN(f) && strings.HasPrefix(path, "values.values") {
			return
		}
		if report, ok := answer.(*tailboundv1.RenderReportResponse); ok && err == nil {
			inside := strings.TrimPrefix(path, "groups[0].")
			require.Contains(t, string(report.GetDocument().GetContent()), inside+": ", what)
			return
		}
		require.Equal(t, codes.InvalidArgument, status.Code(err), "%s: %v", what, err)
		named := false
		for _, field := range fieldsOf(err) {
			// A list may stand for its entries, which the words then tell apart.
			named = named || path == field || strings.HasPrefix(path, field+"[")
		}
		require.True(t, named, "%s: %v", what, err)
	})
}

func fieldsOf(err error) (fields []string) {
	for _, detail := range status.Convert(err).Details() {
		if bad, ok := detail.(*errdetails.BadRequest); ok {
			for _, v := range bad.GetFieldViolations() {
				fields = append(fields, v.GetField())
			}
		}
	}
	return fields
}

// TestExtremesAreSurvived: what is just within a type gets an answer of finite numbers or a refusal, and in time.
func TestExtremesAreSurvived(t *testing.T) {
	t.Parallel()
	hostile(t, extremeValues, func(name, path string, v protoreflect.Value, answer proto.Message, err error) {
		what := fmt.Sprintf("%s %s = %.40v", name, path, v)
		switch status.Code(err) {
		case codes.OK, codes.InvalidArgument, codes.FailedPrecondition, codes.ResourceExhausted, codes.Unimplemented:
		default:
			require.NoError(t, err, what)
		}
		requireFinite(t, answer.ProtoReflect(), what)
	})
}

func requireFinite(t *testing.T, m protoreflect.Message, what string) {
	t.Helper()
	for _, place := range leaves(m, "") {
		if v, ok := place.value.Interface().(float64); ok {
			require.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%s: %s is %v", what, place.path, v)
		}
	}
}
