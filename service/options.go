package service

import (
	"errors"
	"log/slog"
	"time"
)

// Options says how the service runs. DefaultOptions is the one place of the defaults; flags are read from it.
type Options struct {
	// GRPCAddr is where gRPC is served, HOST:PORT; port 0 takes a free one, empty serves none.
	GRPCAddr string
	// HTTPAddr is where REST is served, HOST:PORT; port 0 takes a free one, empty serves none.
	HTTPAddr string
	// MaxMessageBytes caps a message, the body of a REST call and a line of a REST stream.
	MaxMessageBytes int
	// MaxReadings caps the readings of one group.
	MaxReadings int
	// DrainTimeout is how long calls may take to end after a stop; then they are cut.
	DrainTimeout time.Duration
	// RequestTimeout caps a unary call. A stream may last as long as something moves on it.
	RequestTimeout time.Duration
	// StreamIdleTimeout ends a REST stream on which nothing moves either way.
	StreamIdleTimeout time.Duration
	// MaxConcurrentStreams caps the calls that one gRPC connection may have open.
	MaxConcurrentStreams uint32
	// Logger takes one line a call and what goes wrong. Nil discards.
	Logger *slog.Logger
}

// DefaultOptions returns the defaults. Both addresses are of the local host: opening the service to a network is a decision.
func DefaultOptions() Options {
	return Options{
		GRPCAddr:             "127.0.0.1:8801",
		HTTPAddr:             "127.0.0.1:8802",
		MaxMessageBytes:      8 << 20,
		MaxReadings:          10_000,
		DrainTimeout:         10 * time.Second,
		RequestTimeout:       30 * time.Second,
		StreamIdleTimeout:    2 * time.Minute,
		MaxConcurrentStreams: 256,
	}
}

// check refuses what could not be meant.
func (o Options) check() error {
	var problems []error
	for _, c := range []struct {
		wrong bool
		text  string
	}{
		{o.MaxMessageBytes <= 0, "MaxMessageBytes must be positive"},
		{o.MaxReadings <= 0, "MaxReadings must be positive"},
		{o.DrainTimeout < 0, "DrainTimeout must not be negative"},
		{o.RequestTimeout < 0, "RequestTimeout must not be negative"},
		{o.StreamIdleTimeout < 0, "StreamIdleTimeout must not be negative"},
		{o.MaxConcurrentStreams == 0, "MaxConcurrentStreams must be positive"},
	} {
		if c.wrong {
			problems = append(problems, errors.New("service: "+c.text))
		}
	}
	return errors.Join(problems...)
}

func (o Options) logger() *slog.Logger {
	if o.Logger == nil {
		return slog.New(slog.DiscardHandler)
	}
	return o.Logger
}
