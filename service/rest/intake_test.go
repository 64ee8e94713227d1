package rest_test

import (
	"encoding/json"
	"math"
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/protojson"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
)

// ask sends a message as JSON and reads the answer back.
func (s *stack) ask(t *testing.T, path string, question map[string]any) (answer, *tailboundv1.ReadResultsResponse) {
	t.Helper()
	body, err := json.Marshal(question)
	require.NoError(t, err)
	a := s.do(t, http.MethodPost, path, string(body))
	var out tailboundv1.ReadResultsResponse
	if a.code == http.StatusOK {
		require.NoError(t, (protojson.UnmarshalOptions{DiscardUnknown: true}).Unmarshal([]byte(a.body), &out))
	}
	return a, &out
}

// A file as a spreadsheet of a country with a decimal comma saves it becomes groups that can be assessed.
func TestReadResults(t *testing.T) {
	t.Parallel()
	s := whole(t)
	text := "Messung Halle 3;;;;;\nRaum;Stoff;Konzentration;Einheit;Grenzwert;Datum\nHalle;Staub;0,12;mg/m3;2;13.03.2026\n" +
		"Halle;Staub;<0,05;mg/m3;2;14.03.2026 07:30\nHalle;Staub;ND;mg/m3;2;15.03.2026\nHalle;Staub;0,4;mg/m3;2;16.03.2026\n"
	a, got := s.ask(t, "/v1/results:read", map[string]any{
		"name": "halle.csv", "content": []byte(text), "format": map[string]any{"timeZone": "+01:00"},
		"columns": map[string]string{"zone": "Raum", "agent": "Stoff", "result": "Konzentration", "unit": "Einheit", "limit": "grenzwert", "start": "Datum"},
	})
	require.Equal(t, http.StatusOK, a.code, a.body)
	require.Equal(t, ";", got.GetFormat().GetDelimiter())
	require.Equal(t, ",", got.GetFormat().GetDecimalMark())
	require.Equal(t, "utf-8", got.GetFormat().GetEncoding())
	require.Equal(t, "day-month-year", got.GetFormat().GetDateOrder())
	require.Equal(t, "+01:00", got.GetFormat().GetTimeZone())
	require.Equal(t, []string{
		"The text was read as utf-8, for its bytes are valid as such.",
		"The cells are separated by semicolons: the header has 6, and so have 4 of the first 4 lines after it.",
		`Numbers have a decimal comma: the first rows have 3 such as "0,12".`,
		`The dates were read as day-month-year, for "13.03.2026" on line 3 cannot be otherwise.`,
	}, got.GetGuesses())
	require.Equal(t, []string{"Raum", "Stoff", "Konzentration", "Einheit", "Grenzwert", "Datum"}, got.GetHeader())
	require.Equal(t, map[string]string{
		"zone": "Raum", "agent": "Stoff", "result": "Konzentration", "unit": "Einheit", "limit": "Grenzwert", "start": "Datum",
	}, got.GetColumns())
	require.EqualValues(t, 4, got.GetRows())
	require.EqualValues(t, 1, got.GetRejectedRows())
	require.Len(t, got.GetRejected(), 1)
	require.EqualValues(t, 5, got.GetRejected()[0].GetLine())
	require.Equal(t, "Konzentration", got.GetRejected()[0].GetColumn())
	require.Contains(t, got.GetRejected()[0].GetReason(), `"ND" is not a result`)
	require.Len(t, got.GetGroups(), 1)
	g := got.GetGroups()[0]
	require.Equal(t, "Staub", g.GetAgent())
	require.Equal(t, 2.0, g.GetLimit().GetValue())
	require.Len(t, g.GetReadings(), 3)
	require.Equal(t, 0.05, g.GetReadings()[1].GetBelow())
	require.Equal(t, "2026-03-14T06:30:00Z", g.GetReadings()[1].GetStart().AsTime().Format("2006-01-02T15:04:05Z07:00"))
	group, err := protojson.Marshal(g)
	require.NoError(t, err)
	assessed := s.do(t, http.MethodPost, "/v1/groups:assess", string(group))
	require.Equal(t, http.StatusOK, assessed.code, assessed.body)

	a, _ = s.ask(t, "/v1/results:read", map[string]any{"name": "halle.csv", "content": []byte(text)})
	require.Equal(t, http.StatusBadRequest, a.code)
	require.Contains(t, a.body, "halle.csv line")
	a, _ = s.ask(t, "/v1/results:read", map[string]any{"content": []byte(text), "format": map[string]any{"dateOrder": "backwards"}})
	require.Equal(t, http.StatusBadRequest, a.code)
	require.Contains(t, a.body, "format.dateOrder")
}

func TestReadLog(t *testing.T) {
	t.Parallel()
	s := whole(t)
	text := "Serial;4711\nDate;Time;CO (ppm);dust [mg/m3]\n13/03/2026;7:30:00 AM;1,5;\n13/03/2026;7:31:00 AM;ERR;0,2\n13/03/2026;7:32:00 AM;2,5;0,3\n13/03/2026;7:3"
	question := map[string]any{"name": "log.csv", "content": []byte(text)}
	body, err := json.Marshal(question)
	require.NoError(t, err)
	a := s.do(t, http.MethodPost, "/v1/logs:read", string(body))
	require.Equal(t, http.StatusOK, a.code, a.body)
	var got tailboundv1.ReadLogResponse
	require.NoError(t, protojson.Unmarshal([]byte(a.body), &got))
	require.Equal(t, []string{"Date", "Time", "CO (ppm)", "dust [mg/m3]"}, got.GetHeader())
	require.Len(t, got.GetChannels(), 2)
	require.Equal(t, "dust", got.GetChannels()[1].GetAgent())
	require.Equal(t, "mg/m3", got.GetChannels()[1].GetUnit())
	require.Len(t, got.GetValues().GetTimes(), 3)
	require.Equal(t, 1.5, got.GetValues().GetValues()[0])
	require.True(t, math.IsNaN(got.GetValues().GetValues()[1]), "no reading is NaN")
	require.EqualValues(t, 4, got.GetRows())
	require.EqualValues(t, 1, got.GetRejectedRows())
	require.True(t, math.IsNaN(got.GetValues().GetValues()[2]), "a word is no reading")
	require.Equal(t, 0.2, got.GetValues().GetValues()[3], "and costs the other channels nothing")
	require.Contains(t, got.GetRejected()[1].GetReason(), "is cut off")
	require.Contains(t, got.GetGuesses(), "Times without a zone were taken as UTC.")
	require.Equal(t, "1 of 4 rows was rejected and left out. 1 cell was rejected and taken as no reading.", got.GetNotes()[0].GetText())
	require.Contains(t, got.GetNotes()[len(got.GetNotes())-1].GetText(), `log.csv, column CO: cells that are no number, such as "ERR", were taken as no reading: 1 of 4 rows.`)

	question["strict"] = true
	body, err = json.Marshal(question)
	require.NoError(t, err)
	a = s.do(t, http.MethodPost, "/v1/logs:read", string(body))
	require.Equal(t, http.StatusBadRequest, a.code)
	require.Contains(t, a.body, `log.csv line 4, column CO: \"ERR\" is not a number`)
}
