package client

import (
	"crypto/tls"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/backoff"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/keepalive"
)

const (
	// DefaultTimeout bounds a unary call whose context has no deadline.
	DefaultTimeout = 30 * time.Second
	// DefaultWindow is how many groups of AssessAll may be on their way at once.
	DefaultWindow = 64
	// DefaultMessageBytes is the largest message sent or received: 8 MiB, as the server takes by default.
	DefaultMessageBytes = 8 << 20
)

const (
	userAgent = "tailbound-client-go"

	// The service keeps nothing, so every call is idempotent. Five attempts are the most that gRPC makes; with this
	// back-off they reach over about 1.5 s, enough for a server that is being replaced.
	serviceConfig = `{"methodConfig": [{"name": [{}], "retryPolicy": {
		"maxAttempts": 5, "initialBackoff": "0.1s", "maxBackoff": "2s", "backoffMultiplier": 2,
		"retryableStatusCodes": ["UNAVAILABLE"]}}]}`

	// While a call is open and nothing moves, so that a server that is gone without a word is noticed. The server turns away
	// whoever pings more often than every 10 seconds.
	keepaliveTime    = time.Minute
	keepaliveTimeout = 20 * time.Second
)

// Option changes how a client connects and calls. Options about the connection (Plaintext, TLS, WithUserAgent,
// WithDialOptions) are for Dial; New is handed a connection that is already made and ignores them.
type Option func(*settings)

type settings struct {
	security     []credentials.TransportCredentials
	timeout      time.Duration
	window       int
	messageBytes int
	userAgent    string
	dial         []grpc.DialOption
}

// Plaintext connects without encryption: anyone on the way can read the readings and change the answers. It is for a server
// on the same machine, or behind a proxy or tunnel that protects the connection.
func Plaintext() Option {
	return func(s *settings) { s.security = append(s.security, insecure.NewCredentials()) }
}

// TLS connects with TLS 1.2 or later and checks the server's certificate as config says; nil means against the roots of the
// system and the host name of the target. A config with a client certificate makes the connection mutual.
func TLS(config *tls.Config) Option {
	return func(s *settings) { s.security = append(s.security, credentials.NewTLS(config)) }
}

// WithTimeout bounds a unary call whose context has no deadline of its own. Zero or less means no bound. Default
// DefaultTimeout. The streams (AssessAll, ReduceTrace) are bounded by their context alone.
func WithTimeout(timeout time.Duration) Option {
	return func(s *settings) { s.timeout = timeout }
}

// WithWindow sets how many groups of AssessAll may be sent and not yet answered. Values below 1 mean 1. Default
// DefaultWindow.
func WithWindow(groups int) Option {
	return func(s *settings) { s.window = max(groups, 1) }
}

// WithMessageBytes sets the largest message sent or received, in bytes. Raise it together with the server's. Default
// DefaultMessageBytes.
func WithMessageBytes(largest int) Option {
	return func(s *settings) { s.messageBytes = largest }
}

// WithUserAgent puts the name of the calling program, such as "night-report/3.1", in front of the client's own in the
// user-agent header, so that the server's log can tell callers apart.
func WithUserAgent(program string) Option {
	return func(s *settings) { s.userAgent = program + " " + userAgent }
}

// WithDialOptions adds gRPC options to those of Dial, for what the other options do not reach: interceptors, tracing, a
// dialer. On conflict they win.
func WithDialOptions(options ...grpc.DialOption) Option {
	return func(s *settings) { s.dial = append(s.dial, options...) }
}

func settle(options []Option) settings {
	s := settings{
		timeout:      DefaultTimeout,
		window:       DefaultWindow,
		messageBytes: DefaultMessageBytes,
		userAgent:    userAgent,
	}
	for _, option := range options {
		option(&s)
	}
	return s
}

func (s *settings) dialOptions() []grpc.DialOption {
	reconnect := backoff.Config{BaseDelay: 100 * time.Millisecond, Multiplier: 1.6, Jitter: 0.2, MaxDelay: 10 * time.Second}
	return append([]grpc.DialOption{
		grpc.WithTransportCredentials(s.security[0]),
		grpc.WithDefaultServiceConfig(serviceConfig),
		grpc.WithUserAgent(s.userAgent),
		// gRPC's own first pause of 1 s would outlast most of the retries.
		grpc.WithConnectParams(grpc.ConnectParams{Backoff: reconnect, MinConnectTimeout: 5 * time.Second}),
		grpc.WithKeepaliveParams(keepalive.ClientParameters{Time: keepaliveTime, Timeout: keepaliveTimeout}),
	}, s.dial...)
}

// callOptions hold for a connection of Dial and of New alike.
func (s *settings) callOptions() []grpc.CallOption {
	return []grpc.CallOption{grpc.MaxCallSendMsgSize(s.messageBytes), grpc.MaxCallRecvMsgSize(s.messageBytes)}
}
