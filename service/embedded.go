package service

import (
	"context"

	"google.golang.org/grpc"
	"google.golang.org/grpc/health"
)

// Embedded runs the service inside the calling process, with every interceptor and check, and returns a connection to it
// and how to close both. It opens no port.
func Embedded(o Options) (grpc.ClientConnInterface, func() error, error) {
	if err := o.check(); err != nil {
		return nil, nil, err
	}
	m, err := newMemory(o, health.NewServer())
	if err != nil {
		return nil, nil, err
	}
	return m.conn, func() error {
		ctx, cancel := context.WithTimeout(context.Background(), o.DrainTimeout)
		defer cancel()
		return m.close(ctx)
	}, nil
}
