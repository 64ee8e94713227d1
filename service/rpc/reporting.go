package rpc

import tailboundv1 "example.com/tailbound/proto/tailbound/v1"

type reportService struct {
	tailboundv1.UnimplementedReportServiceServer
	*Server
}
