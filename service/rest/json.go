package rest

import (
	"bytes"
	"errors"
	"io"
	"strings"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
)

// AppendJSON appends a message in the JSON of this service to dst: one line, lowerCamelCase, zeros and empty lists written,
// absent parts left out. The same message gives the same bytes in every build.
func AppendJSON(dst []byte, m proto.Message) ([]byte, error) {
	// Without EmitDefaultValues an exceedance of 0 could not be told from one that is absent.
	start := len(dst)
	out, err := protojson.MarshalOptions{EmitDefaultValues: true}.MarshalAppend(dst, m)
	if err != nil {
		return dst, err
	}
	return out[:start+len(compact(out[start:]))], nil
}

// compact removes, in place, the spaces between tokens: protojson puts some in or not, depending on the build.
func compact(b []byte) []byte {
	out, quoted := b[:0], false
	for i := 0; i < len(b); i++ {
		c := b[i]
		switch {
		case quoted && c == '\\':
			out = append(out, c)
			i++
			c = b[i]
		case c == '"':
			quoted = !quoted
		case !quoted && c == ' ':
			continue
		}
		out = append(out, c)
	}
	return out
}

// ParseJSON reads the JSON of a message. A field that the contract does not have is an error, so that a misspelled option
// is never taken for its default.
func ParseJSON(data []byte, m proto.Message) error {
	if len(bytes.TrimSpace(data)) == 0 {
		return errEmpty
	}
	if err := (protojson.UnmarshalOptions{}).Unmarshal(data, m); err != nil {
		return parseError{err}
	}
	return nil
}

var errEmpty = errors.New("the body is empty; accepted is a JSON object")

// parseError gives the words of protojson without its prefix, whose space differs from build to build.
type parseError struct{ cause error }

// Error says what was wrong, where protojson knows it with line and column.
func (e parseError) Error() string {
	text := strings.TrimPrefix(e.cause.Error(), "proto:")
	return notOurJSON + strings.TrimLeft(text, " \u00a0")
}

// Unwrap returns the error of protojson.
func (e parseError) Unwrap() error { return e.cause }

// codec is the gateway's marshaler.
type codec struct{}

// ContentType is that of every message but a document, which has its own.
func (codec) ContentType(v any) string {
	if d := documentOf(v); d != nil {
		return d.GetMediaType()
	}
	return "application/json"
}

// Marshal writes a message, and a document as it is.
func (codec) Marshal(v any) ([]byte, error) {
	if d := documentOf(v); d != nil {
		return d.GetContent(), nil
	}
	m, ok := v.(proto.Message)
	if !ok {
		return nil, errNoMessage
	}
	return AppendJSON(nil, m)
}

var errNoMessage = errors.New("rest: only protobuf messages have a JSON form")

// Unmarshal reads a message.
func (codec) Unmarshal(data []byte, v any) error {
	m, ok := v.(proto.Message)
	if !ok {
		return errNoMessage
	}
	return ParseJSON(data, m)
}

// NewDecoder reads one message from the whole of r, so that a second object after the first is an error and not lost.
func (c codec) NewDecoder(r io.Reader) runtime.Decoder {
	return runtime.DecoderFunc(func(v any) error {
		if body, ok := r.(*wholeBody); ok {
			return c.Unmarshal(body.data, v)
		}
		data, err := io.ReadAll(r)
		if err != nil {
			return err
		}
		return c.Unmarshal(data, v)
	})
}

// NewEncoder writes messages to w.
func (c codec) NewEncoder(w io.Writer) runtime.Encoder {
	return runtime.EncoderFunc(func(v any) error {
		data, err := c.Marshal(v)
		if err != nil {
			return err
		}
		_, err = w.Write(data)
		return err
	})
}
