package main

import (
	"fmt"
	"io"
	"log/slog"
	"os"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"

	"example.com/tailbound/service"
)

func newServe(s streams) *cobra.Command {
	o := service.DefaultOptions()
	var format, level string
	c := &cobra.Command{
		Use:   "serve",
		Short: "Run the service until it is told to stop",
		Long: `Run the service: gRPC on one address, JSON over HTTP on another. Both are plaintext and, by
default, open to this machine only: to serve a network, put a proxy in front that protects them.
On an interrupt the service lets calls end for the drain timeout, then cuts them.`,
		Example: `  tailbound serve
  tailbound serve --grpc-addr 127.0.0.1:0 --http-addr "" --log-format json`,
		Args: noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			logger, err := newLogger(s.err, format, level)
			if err != nil {
				return usageError{err}
			}
			o.Logger = logger
			app, err := service.New(o)
			if err != nil {
				return usageError{err}
			}
			spareCollector()
			return app.Run(c.Context())
		},
	}
	f := c.Flags()
	f.StringVar(&o.GRPCAddr, "grpc-addr", o.GRPCAddr, "serve gRPC on `HOST:PORT`; port 0 takes a free one, empty serves none")
	f.StringVar(&o.HTTPAddr, "http-addr", o.HTTPAddr, "serve JSON over HTTP on `HOST:PORT`; port 0 takes a free one, empty serves none")
	f.IntVar(&o.MaxMessageBytes, "max-message-bytes", o.MaxMessageBytes, "largest message or line of a stream")
	f.IntVar(&o.MaxReadings, "max-readings", o.MaxReadings, "largest number of readings in a group")
	f.Uint32Var(&o.MaxConcurrentStreams, "max-concurrent-streams", o.MaxConcurrentStreams, "largest number of open calls of one gRPC connection")
	f.DurationVar(&o.RequestTimeout, "request-timeout", o.RequestTimeout, "longest time for one call; streams may last longer")
	f.DurationVar(&o.StreamIdleTimeout, "stream-idle-timeout", o.StreamIdleTimeout, "longest time that a stream over HTTP may stand still")
	f.DurationVar(&o.DrainTimeout, "drain-timeout", o.DrainTimeout, "longest time for open calls to end after an interrupt")
	f.StringVar(&format, "log-format", "text", "write the log as `text|json`")
	f.StringVar(&level, "log-level", "info", "log from `debug|info|warn|error` on")
	completeWith(c, "log-format", "text", "json")
	completeWith(c, "log-level", "debug", "info", "warn", "error")
	return c
}

// spareCollector lets the heap grow to five times what is in use before it is collected, unless the environment says
// otherwise: calls leave little behind, and collecting at twice took a third of the time of a busy server. Past a gigabyte, which
// it takes many large reports at once to reach, memory is worth more than time: fifty of 1000 groups, asked for at the same time, took
// 2 GB of which hardly a fifth was in use.
func spareCollector() {
	const spare, soft = 400, 1 << 30
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(spare)
	}
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(soft)
	}
}

// newLogger returns a logger to w.
func newLogger(w io.Writer, format, level string) (*slog.Logger, error) {
	var options slog.HandlerOptions
	levels := map[string]slog.Level{"debug": slog.LevelDebug, "info": slog.LevelInfo, "warn": slog.LevelWarn, "error": slog.LevelError}
	from, known := levels[strings.ToLower(level)]
	if !known {
		return nil, fmt.Errorf("--log-level %s: accepted are debug, info, warn and error", level)
	}
	options.Level = from
	switch strings.ToLower(format) {
	case "text":
		return slog.New(slog.NewTextHandler(w, &options)), nil
	case "json":
		return slog.New(slog.NewJSONHandler(w, &options)), nil
	default:
		return nil, fmt.Errorf("--log-format %s: accepted are text and json", format)
	}
}
