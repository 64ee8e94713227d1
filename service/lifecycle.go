package service

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"
)

// Run starts the service and stops it when ctx ends or a face fails. It returns nil after a stop that was asked for.
func (a *App) Run(ctx context.Context) error {
	if err := a.Start(ctx); err != nil {
		return err
	}
	var err error
	select {
	case <-ctx.Done():
	case err = <-a.failed:
	}
	return errors.Join(err, a.Stop(context.WithoutCancel(ctx)))
}

// Stop turns the health to not serving, lets the calls of both faces end for DrainTimeout or until ctx ends, cuts the rest
// and closes everything. Calling it again does nothing.
func (a *App) Stop(ctx context.Context) error {
	a.probe.Shutdown()
	ctx, cancel := context.WithTimeout(ctx, a.options.DrainTimeout)
	defer cancel()
	start := time.Now()
	stopped := make(chan error, 1)
	go func() { stopped <- a.grpc.cleanups.run(ctx) }()
	err := errors.Join(a.http.cleanups.run(ctx), <-stopped)
	a.log.InfoContext(ctx, "stopped", "duration", time.Since(start), "cut", ctx.Err() != nil)
	return err
}

// cleanups is what must be undone for one face, by name.
type cleanups struct {
	list []cleanup
}

type cleanup struct {
	name string
	run  func(context.Context) error
}

func (c *cleanups) add(name string, run func(context.Context) error) {
	c.list = append(c.list, cleanup{name, run})
}

// run undoes everything, last first, whatever fails on the way, and forgets it.
func (c *cleanups) run(ctx context.Context) error {
	var problems []error
	for _, v := range slices.Backward(c.list) {
		if err := v.run(ctx); err != nil {
			problems = append(problems, fmt.Errorf("service: closing %s: %w", v.name, err))
		}
	}
	c.list = nil
	return errors.Join(problems...)
}
