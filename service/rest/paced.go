package rest

import (
	"errors"
	"net/http"
	"time"
)

// paced writes an answer in pieces and gives the client a while for each, so that a slow one gets all of a long report but one
// that reads nothing does not keep it in memory for ever. That a client is gone is not an error of the handler's, which would go
// to the standard error of the process, past its log.
type paced struct {
	http.ResponseWriter
	control *http.ResponseController
	// idle is the time for a piece; 0 sets no cap.
	idle time.Duration
	gone bool
}

func paceWrites(w http.ResponseWriter, idle time.Duration) *paced {
	p := &paced{ResponseWriter: w, control: http.NewResponseController(w), idle: idle}
	p.extend()
	return p
}

// extend also gets rid of the deadline that the answer before on the same connection has left. A connection without deadlines, as
// in a test, needs none.
func (p *paced) extend() {
	if p.idle > 0 {
		_ = p.control.SetWriteDeadline(time.Now().Add(p.idle))
	}
}

// Write writes. It returns no error but for an answer that must have no body.
func (p *paced) Write(b []byte) (int, error) {
	const piece = 64 << 10
	for rest := b; !p.gone && len(rest) > 0; {
		p.extend()
		n, err := p.ResponseWriter.Write(rest[:min(len(rest), piece)])
		if errors.Is(err, http.ErrBodyNotAllowed) {
			return 0, err
		}
		rest, p.gone = rest[n:], err != nil
	}
	return len(b), nil
}

// Unwrap is for http.ResponseController.
func (p *paced) Unwrap() http.ResponseWriter { return p.ResponseWriter }
