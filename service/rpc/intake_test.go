package rpc

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/durationpb"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/fault"
	"example.com/tailbound/service/internal/messages"
	"example.com/tailbound/service/rpc/request"
)

func TestReadResultsKeepsItsOptions(t *testing.T) {
	t.Parallel()
	r := &tailboundv1.ReadResultsRequest{
		Content: []byte("zone,agent,result,campaign\nk,q,0.5,a\nk,q,0.7,b\nk,q,x,b\n"), GroupBy: []string{"zone", "campaign"}, Unit: "ppm",
	}
	got, err := readResults(r)
	require.NoError(t, err)
	require.Len(t, got.GetGroups(), 2)
	require.Equal(t, "ppm", got.GetGroups()[0].GetUnit())
	require.Equal(t, "k / a", got.GetGroups()[0].GetName())
	require.Equal(t, map[string]string{"zone": "zone", "agent": "agent", "result": "result", "campaign": "campaign"}, got.GetColumns())
	require.EqualValues(t, 3, got.GetRows())
	require.EqualValues(t, 1, got.GetRejectedRows())
	require.Equal(t, "1 of 3 rows was rejected and left out.", got.GetNotes()[0].GetText())
	// Whoever judges the groups is told as well.
	for _, group := range got.GetGroups() {
		answer, err := New(Options{}).answer(group)
		require.NoError(t, err)
		require.Equal(t, "remark", answer.GetNotes()[0].GetCode())
		require.Equal(t, "1 of 3 rows was rejected and left out.", answer.GetNotes()[0].GetText())
	}
	for change, want := range map[*tailboundv1.ReadResultsRequest]string{
		{CombineWithin: durationpb.New(25 * time.Hour)}: "combineWithin: is 25 h; accepted is a length of time from 0 to 24 h",
		{CombineWithin: durationpb.New(-time.Second)}:   "combineWithin: is -1 s; accepted",
		{Strict: true}:                                        `content: the file line 4, column result: "x" is not a result`,
		{GroupBy: []string{"shift"}}:                          `groupBy: "shift" is not a column to group by`,
		{Columns: map[string]string{"zone": "hal"}}:           `content: the file line 1: has no column "hal" to take as zone`,
		{Name: strings.Repeat("x", 300)}:                      "name: has 300 characters",
		{Unit: "\xff"}:                                        "unit: is not valid UTF-8",
		{Format: &tailboundv1.TextFormat{Encoding: "x"}}:      `format.encoding: "x" is not known`,
		{Format: &tailboundv1.TextFormat{TimeZone: "a/../b"}}: `format.timeZone: "a/../b" is not known`,
		{Content: []byte("a\n")}:                              "content: the file line 1: the header has no zone, agent and result",
	} {
		asked := proto.Clone(r).(*tailboundv1.ReadResultsRequest)
		proto.Merge(asked, change)
		if len(change.GetGroupBy()) > 0 {
			asked.GroupBy = change.GetGroupBy()
		}
		_, err := readResults(asked)
		require.ErrorContains(t, err, want)
		require.Equal(t, fault.InvalidArgument, fault.CodeOf(err))
	}
}

// FuzzReadResults holds the way from any file to groups to one promise: groups that the service takes, or an error that is the
// caller's to read.
func FuzzReadResults(f *testing.F) {
	for _, text := range []string{
		"zone,agent,result,unit\na,b,0.12,ppm\na,b,<0.05,mg/m3\n", "Raum;zone;agent;result;unit;start;minutes\n1;a;b;0,12;ppm;13.03.2026;480\n1;a;b;0,05..0,1;ppm;14.03.2026;7,5\n",
		"\xff\xfez\x00o\x00n\x00e\x00", "zone,agent,result,unit,limit\na,b,>5,\xb5g/m3,5ppm\n",
	} {
		f.Add([]byte(text), "", "", "", "zone", "Raum", false)
		f.Add([]byte(text), ";", "day-month-year", "Europe/Paris", "limit", "unit", true)
	}
	f.Fuzz(func(t *testing.T, content []byte, delimiter, order, zone, role, column string, strict bool) {
		r := &tailboundv1.ReadResultsRequest{
			Content: content, Format: &tailboundv1.TextFormat{Delimiter: delimiter, DateOrder: order, TimeZone: zone}, Unit: "ppm", Strict: strict,
		}
		if role != "" {
			r.Columns = map[string]string{role: column}
		}
		answer, err := readResults(r)
		if err != nil {
			require.NotEqual(t, fault.Internal, fault.CodeOf(err), "%v", err)
			return
		}
		sendable(t, answer)
		require.LessOrEqual(t, answer.GetRejectedRows(), answer.GetRows())
		kept := int64(0)
		for _, g := range answer.GetGroups() {
			kept += int64(len(g.GetReadings()))
			messages.RequireFinite(t, g)
			var wrong *fault.Error
			if err := request.CheckGroup(g, 0); errors.As(err, &wrong) {
				require.Contains(t, wrong.Violations[0].Text, "characters; at most", "%v", err)
			}
		}
		require.Equal(t, answer.GetRows()-answer.GetRejectedRows(), kept)
	})
}

// FuzzReadLog does the same for the file of a logger.
func FuzzReadLog(f *testing.F) {
	for _, text := range []string{
		"time,CO (ppm)\n2026-03-09T07:30:00,1.5\n2026-03-09 07:31,\n", "Nr;7\nDate;Time;CO\n13/03/2026;7:30 AM;1,5\n13/03/2026;7:31 AM;",
		"time\tCO\n2026-10-25 02:30\t1\n2026-10-25 02:30\t2\n",
	} {
		f.Add([]byte(text), "", "", "", "", false)
		f.Add([]byte(text), "utf-8", "month-day-year", "Europe/Paris", "date+time", true)
	}
	f.Fuzz(func(t *testing.T, content []byte, encoding, order, zone, column string, strict bool) {
		answer, err := readLog(&tailboundv1.ReadLogRequest{
			Content: content, Format: &tailboundv1.TextFormat{Encoding: encoding, DateOrder: order, TimeZone: zone}, TimeColumn: column, Strict: strict,
		})
		if err != nil {
			require.NotEqual(t, fault.Internal, fault.CodeOf(err), "%v", err)
			return
		}
		sendable(t, answer)
		v := answer.GetValues()
		require.Len(t, v.GetValues(), len(v.GetTimes())*len(answer.GetChannels()))
		require.Len(t, v.GetTimes(), int(answer.GetRows()-answer.GetRejectedRows()))
		for i, at := range v.GetTimes() {
			require.NoError(t, at.CheckValid(), "row %d", i)
		}
		for _, x := range v.GetValues() {
			require.False(t, math.IsInf(x, 0))
		}
	})
}

// sendable checks what only shows when an answer is sent: that its texts are UTF-8.
func sendable(t *testing.T, m proto.Message) {
	t.Helper()
	_, err := proto.Marshal(m)
	require.NoError(t, err)
}
