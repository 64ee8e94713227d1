// Package rpc is the gRPC face of the service. A handler has a request checked by package request, turned into the terms of the stages
// by package wire, answered by package assess, and the answer turned back by wire. Here are besides what a call shares with every other:
// its id, its line in the log and its deadline. status.go is the only place where an error becomes a status.
package rpc

import (
	"log/slog"

	"google.golang.org/grpc"

	tailboundv1 "example.com/tailbound/proto/tailbound/v1"
	"example.com/tailbound/service/assess"
	"example.com/tailbound/service/reading"
	"example.com/tailbound/service/report"
)

// Options says how the handlers behave.
type Options struct {
	// MaxReadings is the largest number of readings in a group; 0 or less means no limit.
	MaxReadings int
	// Version is that of the program, for reports. Empty is "unknown".
	Version string
	// Logger takes failures of single groups of many, which no interceptor sees. Nil discards them.
	Logger *slog.Logger
}

// Server holds the handlers of every service of the contract. It is safe for concurrent use.
type Server struct {
	options Options
	log     *slog.Logger
	// assess is a field so that tests can make it fail.
	assess func(reading.Group, assess.Options) (*report.Assessment, error)
	// partition answers PartitionGroup.
	partition func(reading.Group, string, assess.Options) (*report.Partition, error)
	// compare answers CompareCampaigns.
	compare func(string, []reading.Group, float64, assess.Options) (*report.Comparison, error)
	// plan answers PlanSampling.
	plan func(assess.Question) (*report.Plan, error)
	// reports are the turns of large reports, files those of large files.
	reports, files turns
}

// New returns a server.
func New(o Options) *Server {
	assessor := new(assess.Assessor)
	s := &Server{
		options: o, log: o.Logger, assess: assessor.Group, partition: assessor.Partition, compare: assessor.Compare, plan: assessor.Plan,
		reports: newTurns(), files: newTurns(),
	}
	if s.options.Version == "" {
		s.options.Version = "unknown"
	}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	return s
}

// Register adds every service of the contract to r.
func (s *Server) Register(r grpc.ServiceRegistrar) {
	tailboundv1.RegisterAssessmentServiceServer(r, assessmentService{Server: s})
	tailboundv1.RegisterComparisonServiceServer(r, comparisonService{Server: s})
	tailboundv1.RegisterPlanningServiceServer(r, planningService{Server: s})
	tailboundv1.RegisterTraceServiceServer(r, traceService{Server: s})
	tailboundv1.RegisterIntakeServiceServer(r, intakeService{Server: s})
	tailboundv1.RegisterReportServiceServer(r, reportService{Server: s})
}
