// Package service wires the whole: New, Start, Stop and Run make an application of it, Embedded puts the same service inside
// another process. Its folders are named after the stages of the data and read in this order:
//
//	trace -> reading -> fit -> limit -> decision -> report          assess drives it
//
// A stage takes and returns plain Go values and knows no later stage, no wire format, no logger and no clock; numeric (the
// functions of the statistics) and fault (the one error) lie under all of them, and table (files as rows) under trace and reading.
// fit stands on its own folders: likelihood, and on that posterior, calibrated and check, which do not know each other. Around them
// all stand rpc, the gRPC face, which alone knows both protobuf and the domain: its folder wire turns the one into the other, request
// checks what comes in; rest, the JSON face, which reaches the domain only through gRPC and serves web, the page; and this package.
// imports_test.go keeps it so.
package service
