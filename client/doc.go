// Package client calls a Tailbound server from Go.
//
// Dial states the target and how the connection is protected; nothing is connected before the first call:
//
//	tailbound, err := client.Dial("tailbound.example:8801", client.TLS(nil))
//	if err != nil {
//		return err
//	}
//	defer tailbound.Close()
//
//	answer, err := tailbound.AssessGroup(ctx, &tailboundv1.AssessGroupRequest{
//		Readings: readings,
//		Unit:     "mg/m3",
//		Limit:    &tailboundv1.Limit{Value: 0.5},
//	})
//
// A server started with `tailbound serve` speaks plaintext unless it was given a certificate; for such a one say
// client.Plaintext().
//
// Many groups go over one stream. The groups are sent while the answers come in, at most WithWindow groups are on their
// way, and a group that cannot be assessed spoils only its own answer:
//
//	for answer, err := range tailbound.AssessAll(ctx, groups) {
//		if err != nil {
//			return err // The batch is not whole.
//		}
//		if answer.Err != nil {
//			log.Printf("%s: %v", answer.Name, answer.Err)
//			continue
//		}
//		fmt.Println(answer.Name, answer.Response.GetDecision().GetOutcome())
//	}
//
// A file of results as people have it becomes groups by ReadResults, the file of a logger becomes values for ReduceTrace by
// ReadLog, and RenderReport writes one page of HTML about groups:
//
//	file, err := tailbound.ReadResults(ctx, &tailboundv1.ReadResultsRequest{Name: "spring.csv", Content: content})
//	if err != nil {
//		return err
//	}
//	report, err := tailbound.RenderReport(ctx, &tailboundv1.RenderReportRequest{Groups: file.GetGroups()})
//	if err != nil {
//		return err
//	}
//	return os.WriteFile("spring.html", report.GetDocument().GetContent(), 0o644)
//
// Every failure of a call is an *Error with the canonical code and the fields at fault:
//
//	var failure *client.Error
//	if errors.As(err, &failure) {
//		for _, violation := range failure.Violations {
//			fmt.Println(violation.Field, violation.Description)
//		}
//	}
//
// All calls are idempotent: the service keeps nothing. So a call that fails with UNAVAILABLE before anything was answered
// is tried again, up to five times in all over about 1.5 seconds.
package client
