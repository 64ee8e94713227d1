package request

import (
	"crypto/sha256"
	"encoding/hex"
	"math"
	"slices"

	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
)

// Digest is the SHA-256 of a message in canonical form, in hexadecimal.
func Digest(m proto.Message) string {
	sum := sha256.Sum256(appendCanonical(nil, m.ProtoReflect()))
	return hex.EncodeToString(sum[:])
}

// appendCanonical appends a message in the canonical form that digests are made of. It is the binary encoding of protobuf
// narrowed down until one message has one form, in every build and every language:
//
//   - fields in ascending order of their numbers, those that are not set left out, unknown ones too;
//   - repeated numbers packed, everything else once for each element, in the order of the message;
//   - lengths and numbers in the fewest bytes.
//
// What is digested has no maps. No encoder of protobuf promises one form: that of Go writes the members of a oneof last.
func appendCanonical(b []byte, m protoreflect.Message) []byte {
	fields := m.Descriptor().Fields()
	numbers := make([]protoreflect.FieldNumber, 0, fields.Len())
	for i := range fields.Len() {
		numbers = append(numbers, fields.Get(i).Number())
	}
	slices.Sort(numbers)
	for _, n := range numbers {
		if f := fields.ByNumber(n); m.Has(f) {
			b = appendField(b, f, m.Get(f))
		}
	}
	return b
}

func appendField(b []byte, f protoreflect.FieldDescriptor, v protoreflect.Value) []byte {
	if !f.IsList() {
		return appendValue(protowire.AppendTag(b, f.Number(), wireType(f)), f, v)
	}
	list := v.List()
	if wireType(f) == protowire.BytesType {
		for i := range list.Len() {
			b = appendValue(protowire.AppendTag(b, f.Number(), protowire.BytesType), f, list.Get(i))
		}
		return b
	}
	var packed []byte
	for i := range list.Len() {
		packed = appendValue(packed, f, list.Get(i))
	}
	return protowire.AppendBytes(protowire.AppendTag(b, f.Number(), protowire.BytesType), packed)
}

func wireType(f protoreflect.FieldDescriptor) protowire.Type {
	switch f.Kind() {
	case protoreflect.MessageKind, protoreflect.StringKind, protoreflect.BytesKind:
		return protowire.BytesType
	case protoreflect.DoubleKind:
		return protowire.Fixed64Type
	default:
		return protowire.VarintType
	}
}

// appendValue knows the kinds that the contract uses; a test reads back a request with every field.
func appendValue(b []byte, f protoreflect.FieldDescriptor, v protoreflect.Value) []byte {
	switch f.Kind() {
	case protoreflect.MessageKind:
		return protowire.AppendBytes(b, appendCanonical(nil, v.Message()))
	case protoreflect.StringKind:
		return protowire.AppendString(b, v.String())
	case protoreflect.BytesKind:
		return protowire.AppendBytes(b, v.Bytes())
	case protoreflect.DoubleKind:
		return protowire.AppendFixed64(b, math.Float64bits(v.Float()))
	case protoreflect.BoolKind:
		return protowire.AppendVarint(b, protowire.EncodeBool(v.Bool()))
	case protoreflect.EnumKind:
		return protowire.AppendVarint(b, uint64(int64(v.Enum()))) //nolint:gosec // As protobuf does.
	default:
		return protowire.AppendVarint(b, uint64(v.Int())) //nolint:gosec // As protobuf does.
	}
}
