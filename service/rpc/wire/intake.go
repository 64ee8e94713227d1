package wire

import (
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
	"example.com/tailbound/service/table"
	"example.com/tailbound/service/trace"
)

// ToFormat turns the format that is stated of a file. It checks nothing.
func ToFormat(f *tailboundv1.TextFormat) table.Format {
	return table.Format{
		Encoding: f.GetEncoding(), Delimiter: f.GetDelimiter(), DecimalMark: f.GetDecimalMark(), DateOrder: f.GetDateOrder(), TimeZone: f.GetTimeZone(),
	}
}

func fromFormat(f table.Format) *tailboundv1.TextFormat {
	return &tailboundv1.TextFormat{
		Encoding: f.Encoding, Delimiter: f.Delimiter, DecimalMark: f.DecimalMark, DateOrder: f.DateOrder, TimeZone: f.TimeZone,
	}
}

// ToSource turns what is stated of a file of results. It checks nothing.
func ToSource(r *tailboundv1.ReadResultsRequest) reading.Source {
	return reading.Source{
		Format: ToFormat(r.GetFormat()), Columns: r.GetColumns(), Unit: reading.Unit(r.GetUnit()), Strict: r.GetStrict(),
	}
}

// FromResults turns the groups of one file into the answer of the contract.
func FromResults(g *reading.Grouping, groups []*reading.TabledGroup) *tailboundv1.ReadResultsResponse {
	u := g.Understood()[0]
	r := &tailboundv1.ReadResultsResponse{
		Format: fromFormat(u.Format), Guesses: guessTexts(u.Guesses), Header: u.Header, Columns: u.Columns, Rows: u.Rows,
		RejectedRows: g.Rejected().Rows, Rejected: each(g.Rejected().First, fromRejection), Notes: intakeNotes(g.Notes(), g.Rejected(), u.Rows),
	}
	for _, group := range groups {
		r.Groups = append(r.Groups, FromGroup(group.Group, assess.Options{}))
	}
	return r
}

// FromLog turns what was read of a log into the answer of the contract.
func FromLog(l *trace.Log, values *tailboundv1.TraceValues, rejected *table.Rejected) *tailboundv1.ReadLogResponse {
	r := &tailboundv1.ReadLogResponse{
		Format: fromFormat(l.Format()), Guesses: guessTexts(l.Guesses()), Header: l.Header(), Values: values, Rows: l.Rows(),
		RejectedRows: rejected.Rows, Rejected: each(rejected.First, fromRejection), Notes: intakeNotes(l.Notes(), rejected, l.Rows()),
	}
	for _, text := range l.Cautions() {
		r.Notes = append(r.Notes, each([]report.Note{{Code: "rejected-cells", Severity: report.Careful, Text: text}}, fromNote)...)
	}
	for _, c := range l.Columns() {
		r.Channels = append(r.Channels, &tailboundv1.TraceChannel{Agent: c.Name, Unit: c.Unit})
	}
	return r
}

func guessTexts(guesses []table.Guess) []string {
	texts := make([]string, len(guesses))
	for i, g := range guesses {
		texts[i] = g.Text
	}
	return texts
}

func fromRejection(r *table.Rejection, p *tailboundv1.RejectedRow) {
	p.Line, p.Column, p.Reason = int64(r.Line), r.Column, r.Text
}

// intakeNotes are what was passed over in a file, and what was left out.
func intakeNotes(texts []string, rejected *table.Rejected, rows int64) []*tailboundv1.Note {
	var notes []report.Note
	if text := rejected.Text(rows); text != "" {
		notes = append(notes, report.Note{Code: "rejected-rows", Severity: report.Careful, Text: text})
	}
	for _, text := range texts {
		notes = append(notes, report.Note{Code: "file", Severity: report.Information, Text: text})
	}
	return each(notes, fromNote)
}
