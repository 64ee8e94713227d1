package client_test

import (
	"context"
	"errors"
	"fmt"
	"log"
	"slices"

	"example.com/tailbound/client"
	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service"
)

// embedded stands in for a server: the examples call the real service, inside the process. A program would say
// client.Dial("tailbound.example:8801", client.TLS(nil)) instead.
func embedded() (*client.Client, func()) {
	conn, stop, err := service.Embedded(service.DefaultOptions())
	if err != nil {
		log.Fatal(err)
	}
	return client.New(conn), func() {
		if err := stop(); err != nil {
			log.Fatal(err)
		}
	}
}

func detected(values ...float64) []*tailboundv1.Reading {
	readings := make([]*tailboundv1.Reading, len(values))
	for i, value := range values {
		readings[i] = &tailboundv1.Reading{Result: &tailboundv1.Reading_Value{Value: value}}
	}
	return readings
}

// One group of readings against one limit.
func ExampleClient_AssessGroup() {
	tailbound, stop := embedded()
	defer stop()

	answer, err := tailbound.AssessGroup(context.Background(), &tailboundv1.AssessGroupRequest{
		Readings: detected(19.7, 39.2, 7.8, 12.8, 10.2, 7.2, 16.1, 5.7),
		Unit:     "ppb",
		Limit:    &tailboundv1.Limit{Value: 46},
	})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("geometric mean %.1f %s\n", answer.GetFit().GetGeometricMean().GetEstimate(), answer.GetUnit())
	fmt.Printf("95th percentile %.1f, with 95 %% confidence below %.1f\n", answer.GetPercentile().GetEstimate(), answer.GetPercentile().GetUpper())
	fmt.Println(answer.GetDecision().GetRule(), answer.GetDecision().GetOutcome())
	// Output:
	// geometric mean 12.3 ppb
	// 95th percentile 34.5, with 95 % confidence below 90.9
	// RULE_EN689 OUTCOME_COMPLIANT
}

// Many groups over one stream: the bad one spoils only its own answer.
func ExampleClient_AssessAll() {
	tailbound, stop := embedded()
	defer stop()

	limit := &tailboundv1.Limit{Value: 0.5}
	groups := []*tailboundv1.AssessGroupRequest{
		{Name: "welding", Unit: "mg/m3", Limit: limit, Readings: detected(0.02, 0.05, 0.03, 0.04, 0.02, 0.06)},
		{Name: "grinding", Unit: "mg/m3", Limit: limit},
		{Name: "packing", Unit: "mg/m3", Limit: limit, Readings: detected(0.2, 0.7, 0.3, 0.4, 0.2, 0.1)},
	}
	for answer, err := range tailbound.AssessAll(context.Background(), slices.Values(groups)) {
		if err != nil {
			log.Fatal(err) // The batch is not whole.
		}
		if answer.Err != nil {
			fmt.Println(answer.Name, "invalid:", client.IsInvalid(answer.Err))
			continue
		}
		fmt.Println(answer.Name, answer.Response.GetDecision().GetOutcome())
	}
	// Output:
	// welding OUTCOME_COMPLIANT
	// grinding invalid: true
	// packing OUTCOME_NOT_COMPLIANT
}

// A file of results becomes groups, each gets its answer, and all of them one report.
func ExampleClient_ReadResults() {
	tailbound, stop := embedded()
	defer stop()
	ctx := context.Background()

	file, err := tailbound.ReadResults(ctx, &tailboundv1.ReadResultsRequest{
		Name: "spring.csv",
		Content: []byte("zone;agent;result;unit;limit\n" +
			"hall;dust;0,3;mg/m3;2\nhall;dust;0,2;mg/m3;2\nhall;dust;<0,1;mg/m3;2\nhall;dust;0,4;mg/m3;2\nhall;dust;lost;mg/m3;2\n" +
			"yard;dust;1,9;mg/m3;2\nyard;dust;2,4;mg/m3;2\nyard;dust;1,1;mg/m3;2\n"),
	})
	if err != nil {
		log.Fatal(err)
	}
	for _, row := range file.GetRejected() {
		fmt.Printf("line %d, column %s was left out\n", row.GetLine(), row.GetColumn())
	}
	for answer, err := range tailbound.AssessAll(ctx, slices.Values(file.GetGroups())) {
		if err != nil {
			log.Fatal(err) // The batch is not whole.
		}
		if answer.Err != nil {
			log.Fatal(answer.Err)
		}
		fmt.Println(answer.Name+":", answer.Response.GetDecision().GetOutcome())
	}
	report, err := tailbound.RenderReport(ctx, &tailboundv1.RenderReportRequest{Groups: file.GetGroups(), Title: "Spring"})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(report.GetDocument().GetMediaType())
	// Output:
	// line 6, column result was left out
	// hall: OUTCOME_UNDECIDED
	// yard: OUTCOME_NOT_COMPLIANT
	// text/html; charset=utf-8
}

// A refusal says which fields are at fault.
func ExampleError() {
	tailbound, stop := embedded()
	defer stop()

	_, err := tailbound.AssessGroup(context.Background(), &tailboundv1.AssessGroupRequest{
		Readings: detected(0.02, -0.05),
		Unit:     "mg/m3",
		Limit:    &tailboundv1.Limit{},
	})
	if failure, ok := errors.AsType[*client.Error](err); ok {
		fmt.Println(failure.Code)
		for _, violation := range failure.Violations {
			fmt.Println(violation.Field)
		}
	}
	// Output:
	// InvalidArgument
	// limit.value
	// readings[1].value
}

// Nothing is sent unprotected by omission: Dial wants to be told how the connection is protected.
func ExampleDial() {
	_, err := client.Dial("127.0.0.1:8801")
	fmt.Println(err)

	tailbound, err := client.Dial("127.0.0.1:8801", client.Plaintext(), client.WithUserAgent("night-report/3.1"))
	if err != nil {
		log.Fatal(err)
	}
	defer tailbound.Close()
	// Output:
	// client: state exactly one of Plaintext and TLS for 127.0.0.1:8801
}
