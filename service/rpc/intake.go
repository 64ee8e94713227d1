package rpc

import (
	"bytes"
	"context"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/rpc/request"
	"example.com/tailbound/service/rpc/wire"
	"example.com/tailbound/service/trace"
)

type intakeService struct {
	tailboundv1.UnimplementedIntakeServiceServer
	*Server
}

// smallFile is how many bytes a file may have without waiting for its turn: what was read of one of 5.6 MB with a group a row
// takes hundreds of megabytes until it is sent.
const smallFile = 1 << 20

// ReadResults turns a file of results into groups.
func (s intakeService) ReadResults(ctx context.Context, r *tailboundv1.ReadResultsRequest) (*tailboundv1.ReadResultsResponse, error) {
	done, err := s.files.take(ctx, len(r.GetContent()) > smallFile)
	if err != nil {
		return nil, err
	}
	defer done()
	return readResults(r)
}

func readResults(r *tailboundv1.ReadResultsRequest) (*tailboundv1.ReadResultsResponse, error) {
	if err := request.CheckResults(r); err != nil {
		return nil, err
	}
	keys := reading.DefaultKeys
	if len(r.GetGroupBy()) > 0 {
		var err error
		if keys, err = reading.ParseKeys(strings.Join(r.GetGroupBy(), ",")); err != nil {
			return nil, fault.Under("groupBy", err)
		}
	}
	grouping := reading.NewGrouping(keys)
	grouping.Source, grouping.CombineWithin = wire.ToSource(r), r.GetCombineWithin().AsDuration()
	if err := grouping.ReadCSV(nameOf(r), bytes.NewReader(r.GetContent())); err != nil {
		return nil, inContent(err)
	}
	groups, err := grouping.Groups()
	if err != nil {
		return nil, inContent(err)
	}
	return wire.FromResults(grouping, groups), nil
}

// ReadLog turns the file of a logger into values.
func (s intakeService) ReadLog(ctx context.Context, r *tailboundv1.ReadLogRequest) (*tailboundv1.ReadLogResponse, error) {
	done, err := s.files.take(ctx, len(r.GetContent()) > smallFile)
	if err != nil {
		return nil, err
	}
	defer done()
	return readLog(r)
}

func readLog(r *tailboundv1.ReadLogRequest) (*tailboundv1.ReadLogResponse, error) {
	if err := request.CheckLog(r); err != nil {
		return nil, err
	}
	log, err := trace.OpenLog(nameOf(r), bytes.NewReader(r.GetContent()), trace.LogOptions{
		Format: wire.ToFormat(r.GetFormat()), TimeColumn: r.GetTimeColumn(),
	})
	if err != nil {
		return nil, inContent(err)
	}
	out := new(tailboundv1.TraceValues)
	rejected, err := log.ReadAll(r.GetStrict(), func(at time.Time, values []float64) error {
		out.Times = append(out.Times, timestamppb.New(at))
		out.Values = append(out.Values, values...)
		return nil
	})
	if err != nil {
		return nil, inContent(err)
	}
	return wire.FromLog(log, out, rejected), nil
}

// nameOf is the name of the file, or words in its place.
func nameOf(r interface{ GetName() string }) string {
	if name := r.GetName(); name != "" {
		return name
	}
	return "the file"
}

// inContent puts a fault about a file under the field of its bytes.
func inContent(err error) error {
	return fault.Reworded(err, func(v fault.Violation) fault.Violation {
		text := v.Text
		if v.Field != "" {
			text = v.Field + ": " + text
		}
		return fault.Violation{Field: "content", Text: text}
	})
}
