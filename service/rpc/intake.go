package rpc

import tailboundv1 "example.com/tailbound/proto/tailbound/v1"

type intakeService struct {
	tailboundv1.UnimplementedIntakeServiceServer
	*Server
}
